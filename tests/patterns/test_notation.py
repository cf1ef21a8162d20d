from collections.abc import Callable
from importlib import resources

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.lark import from_lark
from lark import Lark

from patterns.faults import FaultyInputError
from patterns.notation import AnyOf, DragonOf, Numbered, OpenGroup, OpenTile, Rank, parse_groups, parse_where
from patterns.tiles import Suit, Tile

GRAMMAR = Lark(
    resources.files("patterns").joinpath("notation.lark").read_text(encoding="utf-8"), start="condition"
)

RANKS = st.one_of(
    st.integers(1, 9).map(lambda digit: (str(digit), Rank(digit, free=False))),
    st.just(("n", Rank(0, free=True))),
    st.integers(1, 9).map(lambda digit: (f"(n+{digit})", Rank(digit, free=True))),
)
SUITS = st.sampled_from(
    [*((letter, letter) for letter in "pqr"), *((suit.name.lower(), suit) for suit in Suit)]
)
NAMED = st.sampled_from(
    [Tile.FLOWER, Tile.NORTH, Tile.EAST, Tile.WEST, Tile.SOUTH, Tile.WHITE, Tile.RED, Tile.GREEN]
)
TILES: st.SearchStrategy[tuple[str, OpenTile]] = st.one_of(
    st.tuples(RANKS, SUITS).map(lambda both: (both[0][0] + both[1][0], Numbered(both[0][1], both[1][1]))),
    NAMED.map(lambda tile: (tile.name.lower(), tile)),
    st.sampled_from(["wind", "wind1", "wind2", "dragon", "dragon1", "dragon2"]).map(
        lambda word: (word, AnyOf(word))
    ),
    SUITS.map(lambda suit: (f"dragon({suit[0]})", DragonOf(suit[1]))),
)
GROUPS = st.tuples(TILES, st.integers(1, 6)).map(
    lambda both: (f"{both[0][0]}*{both[1]}", OpenGroup(both[0][1], both[1]))
)


def fault_details(written: str) -> list[str]:
    with pytest.raises(FaultyInputError) as caught:
        parse_groups(written)
    return [fault.detail for fault in caught.value.faults]


@settings(deadline=None)
@given(st.lists(GROUPS, min_size=1, max_size=14), st.sampled_from([" ", "  ", "\n\t"]))
def test_groups_are_read_as_written(groups: list[tuple[str, OpenGroup]], gap: str) -> None:
    written = gap.join(text for text, _ in groups)
    assert parse_groups(written) == tuple(group for _, group in groups)


@settings(deadline=None)
@given(from_lark(GRAMMAR))
def test_every_condition_the_grammar_makes_is_read_or_allows_nothing(written: str) -> None:
    try:
        allowed = parse_where(written)
    except FaultyInputError as error:
        assert "allows no value of n" in error.faults[0].detail
    else:
        assert allowed == tuple(n for n in range(1, 10) if n in allowed) != ()


@pytest.mark.parametrize(
    ("parse", "written", "column", "expected"),
    [
        (parse_groups, "5p", 3, "'*' and a count"),
        (parse_groups, "5p*7", 4, "a count 1-6"),
        (parse_groups, "5p*4,6p*4", 5, "a space or the end"),
        (parse_groups, "norht*4", 2, "a suit p, q, r, bam, crak or dot"),
        (parse_groups, "(n+0)p*3", 4, "a rank 1-9"),
        (parse_groups, "(n+2p*3", 5, "')'"),
        (parse_groups, "dragon(x)*4", 8, "a suit p, q, r, bam, crak or dot"),
        (parse_groups, "   5p*4   banana*3", 11, "a tile"),
        (parse_where, "m odd", 1, "n"),
        (parse_where, "n", 2, "'in' or odd or even"),
        (parse_where, "n in 0..3", 6, "a rank 1-9"),
        (parse_where, "n in 1", 7, "'..'"),
        (parse_where, "n odd and", 10, "n"),
        (parse_where, "n odd n even", 7, "'and' or a space or the end"),
    ],
)
def test_an_error_names_its_column_and_what_was_expected(
    parse: Callable[[str], object], written: str, column: int, expected: str
) -> None:
    with pytest.raises(FaultyInputError) as caught:
        parse(written)
    (fault,) = caught.value.faults
    assert fault.detail.startswith(f"column {column}: ")
    assert fault.detail.partition("; write ")[0].endswith(f"expected {expected}")


def test_a_written_joker_gets_the_rule() -> None:
    (detail,) = fault_details("joker*2")
    assert "jokers are never written" in detail


def test_every_group_that_cannot_be_read_is_named() -> None:
    details = fault_details("2p*4 5x*4 flower*9 north*2 7q")
    assert [detail.split(":")[0] for detail in details] == ["column 7", "column 18", "column 30"]


@pytest.mark.parametrize(
    ("written", "allowed"),
    [
        ("n in 1..7", (1, 2, 3, 4, 5, 6, 7)),
        ("n in 4..4", (4,)),
        ("n odd", (1, 3, 5, 7, 9)),
        ("n even", (2, 4, 6, 8)),
        ("n odd and n in 2..6", (3, 5)),
        ("n in 1..6 and n in 4..9 and n odd", (5,)),
        ("  n   in 3 .. 5 ", (3, 4, 5)),
    ],
)
def test_conditions(written: str, allowed: tuple[int, ...]) -> None:
    assert parse_where(written) == allowed


@pytest.mark.parametrize("written", ["n in 7..1", "n odd and n even", "n in 4..4 and n odd"])
def test_a_condition_that_allows_nothing(written: str) -> None:
    with pytest.raises(FaultyInputError, match="allows no value of n"):
        parse_where(written)


@settings(deadline=None)
@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(written: str) -> None:
    for parse in (parse_groups, parse_where):
        try:
            assert parse(written)
        except FaultyInputError as error:
            assert all(fault.detail for fault in error.faults)


@pytest.mark.parametrize(
    ("shorthand", "meant"),
    [
        ("22p", "2p*2"),
        ("123q", "1q*1 2q*1 3q*1"),
        ("FFF", "flower*3"),
        ("NEWS", "north*1 east*1 west*1 south*1"),
        ("44b", "4bam*2"),
        ("5c*3", "5crak*3"),
        ("red", "red*1"),
        ("np", "np*1"),
        ("n+2q*4", "(n+2)q*4"),
        ("nnnp", "np*3"),
        ("5Px4", "5p*4"),
    ],
)
def test_shorthand_is_met_with_the_right_form(shorthand: str, meant: str) -> None:
    with pytest.raises(FaultyInputError) as caught:
        parse_groups(shorthand)
    (fault,) = caught.value.faults
    assert fault.detail.endswith(f"; write {meant}")
    assert parse_groups(meant)
