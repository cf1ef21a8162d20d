"""Numbers of targets, each counted by hand beside the notation."""

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.card import Target
from patterns.card_file import read_draft
from patterns.expand import expand
from patterns.faults import Fault, FaultyInputError
from patterns.notation import parse_groups, parse_where
from patterns.tiles import DRAGON_OF, Suit, numbered


def targets_of(groups: str, where: str | None = None) -> list[Target]:
    return expand(parse_groups(groups), None if where is None else parse_where(where))


def faults_of(groups: str, where: str | None = None) -> tuple[Fault, ...]:
    with pytest.raises(FaultyInputError) as caught:
        targets_of(groups, where)
    return caught.value.faults


# Shapes by one rule: ranks a step of three and then of two apart (n, n+3, n+5), in as many suits as the
# case needs; winds, dragons and flowers fill up. n is 1-4 where n+5 is used.
COUNTED = [
    # No letter, no n: the one target.
    ("2bam*4 5dot*4 flower*6", None, 1),
    # One suit letter, ranks fixed: 3 suits.
    ("2p*5 5p*5 7p*4", None, 3),
    # One suit: 3. 4 * 3.
    ("np*5 (n+3)p*5 (n+5)p*4", None, 12),
    # p and q have different groups, so ordered pairs of suits: 3 * 2. 4 * 6.
    ("np*3 (n+3)q*3 (n+5)p*4 flower*4", None, 24),
    # Exchanging p and q gives the same demand, so unordered pairs of suits: 3. 4 * 3.
    ("np*3 nq*3 flower*2 (n+5)p*3 (n+5)q*3", None, 12),
    # All three suits play the same part: 1 way.
    ("np*2 (n+5)p*2 nq*2 (n+5)q*2 nr*2 (n+5)r*2 flower*2", None, 4),
    # Only the suit of the pair matters, p and q being alike: 3. 4 * 3.
    ("np*3 (n+5)p*3 nq*3 (n+5)q*3 (n+3)r*2", None, 12),
    # The three suits have different parts: 3! = 6. n odd: 1, 3. 6 * 2.
    ("np*5 (n+3)q*3 (n+5)r*4 flower*2", "n odd", 12),
    # The same, n even and at least 3: 4.
    ("np*5 (n+3)q*3 (n+5)r*4 flower*2", "n even and n in 3..4", 6),
    # A parity alone keeps the values that fit: of 1-4, 2 and 4 are even. 3 suits.
    ("np*5 (n+3)p*5 (n+5)p*4", "n even", 6),
    # One wind, free of the suits: 4. All three suits alike: 1. n is 1-6. 6 * 4.
    ("np*2 (n+3)p*2 nq*2 (n+3)q*2 nr*2 (n+3)r*2 wind*2", None, 24),
    # Two winds of unlike size: 4 * 3 ordered. One dragon of three: 3. 12 * 3.
    ("wind1*6 wind2*3 dragon*3 flower*2", None, 36),
    # Two winds alike: 4 * 3 / 2 = 6. Two dragons alike: 3. 6 * 3.
    ("wind1*5 wind2*5 dragon1*2 dragon2*2", None, 18),
    # One wind written twice is the same wind: 4, and its groups add up.
    ("wind*3 wind*2 flower*5 flower*4", None, 4),
    # Two dragons of unlike size: 3 * 2.
    ("dragon1*6 dragon2*3 flower*5", None, 6),
    # The dragon follows its suit, so it adds no choice: ordered pairs 6. n is 1-6. 6 * 6.
    ("np*5 (n+3)q*3 dragon(q)*3 dragon(p)*3", None, 36),
    # p and q only by their dragons, alike: choosing r settles all: 3. 3 * 4.
    ("dragon(p)*4 nr*3 (n+5)r*3 dragon(q)*4", None, 12),
    # dragon is free of dragon(q): 3 dragons * 6 pairs of suits * 9 ranks. Where both are the same dragon the
    # target asks for eight of it (4 jokers) beside six of a number (2 jokers): the set's 8 jokers suffice.
    ("dragon*5 dragon(q)*3 np*6", None, 162),
    # p may be bams too: then eight 7 bams are asked for, four of them jokers. 3 suits.
    ("7bam*4 7p*4 flower*6", None, 3),
    # With p = bam the singles and pairs ask for five 7 bams, and there are four: craks and dots only.
    ("7bam*2 7p*2 7bam*1 flower*6 north*3", None, 2),
    # n free and a fixed 7 in the same suit: n = 7 asks for 6 naturals of one kind in pairs, impossible,
    # so 8 ranks * 3 suits.
    ("7p*2 7p*2 np*2 flower*6 east*2", None, 24),
]


@pytest.mark.parametrize(("groups", "where", "count"), COUNTED)
def test_number_of_distinct_targets_of_fourteen_tiles(groups: str, where: str | None, count: int) -> None:
    targets = targets_of(groups, where)
    assert len(targets) == len({target.needs for target in targets}) == count
    assert {sum(plain + grouped for _, plain, grouped in target.needs) for target in targets} == {14}


def count_on_card(groups: list[str], **more: object) -> int:
    hand = {"name": "a", "family": "b", "groups": groups, **more}
    return read_draft({"card": {"name": "c"}, "hand": [hand]}).card().target_count


def test_alternatives_add_up() -> None:
    # 3 pairs of dragons alike, and 4 * 3 / 2 = 6 pairs of winds alike. 3 + 6.
    assert count_on_card(["flower*6 dragon1*4 dragon2*4", "flower*6 wind1*4 wind2*4"]) == 9


def test_alternatives_that_say_the_same_are_merged() -> None:
    # n is 1-6 and 6 ordered pairs of suits: 36. The second is the first with p and q exchanged.
    assert count_on_card(["np*4 (n+3)q*4 flower*6", "nq*4 (n+3)p*4 flower*6"]) == 36
    # The second is the first's n = 4, in all 6 ordered pairs of suits.
    assert count_on_card(["np*4 (n+3)q*4 flower*6", "4p*4 7q*4 flower*6"]) == 36
    # The second starts with 7 in one suit, which the first cannot reach: 6 more.
    assert count_on_card(["np*4 (n+3)q*4 flower*6", "7p*4 1q*4 flower*6"]) == 42


def test_every_assignment_of_suits_is_there() -> None:
    found = {target.needs for target in targets_of("2p*4 dragon(q)*4 7q*4 5r*2")}
    expected = set()
    for p, q, r in permutations(Suit):
        wanted = {
            numbered(2, p): (0, 4),
            DRAGON_OF[q]: (0, 4),
            numbered(7, q): (0, 4),
            numbered(5, r): (2, 0),
        }
        expected.add(tuple((tile, *wanted[tile]) for tile in sorted(wanted, key=lambda tile: tile.position)))
    assert found == expected
    assert len(found) == 6


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(
                [f"{rank}{suit}" for rank in ("2", "n", "(n+3)") for suit in "pqr"] + ["dragon(q)"]
            ),
            st.integers(1, 6),
        ),
        min_size=1,
        max_size=5,
    ),
    st.permutations(list(Suit)),
)
def test_a_hand_of_open_suits_is_closed_under_exchanging_suits(
    groups: list[tuple[str, int]], order: list[Suit]
) -> None:
    size = sum(count for _, count in groups)
    written = " ".join(f"{tile}*{count}" for tile, count in groups)
    filled = written + " flower*6" * ((14 - size) // 6) + " flower*1" * ((14 - size) % 6)
    try:
        targets = targets_of(filled)
    except FaultyInputError as error:
        assert size > 14 or {fault.kind for fault in error.faults} == {"no-target"}
        return
    new = dict(zip(Suit, order, strict=True))
    moved = {numbered(rank, suit): numbered(rank, new[suit]) for rank in range(1, 10) for suit in Suit}
    moved |= {DRAGON_OF[suit]: DRAGON_OF[new[suit]] for suit in Suit}
    needs = {frozenset(target.needs) for target in targets}
    assert {frozenset((moved.get(t, t), plain, grouped) for t, plain, grouped in n) for n in needs} == needs


@pytest.mark.parametrize(
    ("groups", "size"), [("2p*4 5p*4 7p*5", 13), ("2p*6 5p*6 7p*3", 15), ("flower*1", 1)]
)
def test_a_hand_has_fourteen_tiles(groups: str, size: int) -> None:
    (fault,) = faults_of(groups)
    assert (fault.kind, fault.detail) == ("wrong-count", f"{size} tiles: a hand has 14")


def test_a_condition_needs_an_n_and_must_keep_ranks_within_nine() -> None:
    (fault,) = faults_of("2p*4 5p*4 flower*6", "n odd")
    assert (fault.kind, fault.detail) == ("where", "there is a condition on n but no n in the groups")
    (fault,) = faults_of("np*4 (n+3)p*4 flower*6", "n in 5..7")
    assert (fault.kind, fault.detail) == ("where", "n = 7 makes rank 10, beyond 9")


def test_no_n_fits_when_a_step_is_too_long() -> None:
    assert len(targets_of("np*4 (n+8)p*4 flower*6")) == 3
    assert faults_of("np*4 (n+9)p*4 flower*6")[0].detail == "no target can be made: no value of n fits"


@pytest.mark.parametrize("kind", ["wind", "dragon"])
def test_one_name_beside_a_numbered_one_is_refused(kind: str) -> None:
    (fault,) = faults_of(f"{kind}*4 {kind}2*4 flower*6")
    assert fault.kind == "mixed-names"
    assert fault.detail == f"'{kind}' beside '{kind}2': write {kind}1 and {kind}2 for two"


def test_every_fault_at_once() -> None:
    faults = faults_of("wind*4 wind1*4 dragon*1 dragon1*2", "n odd")
    assert [fault.kind for fault in faults] == ["mixed-names", "mixed-names", "wrong-count", "where"]


def test_a_hand_that_no_set_can_make_says_why() -> None:
    (fault,) = faults_of("5bam*2 5bam*2 5bam*1 flower*6 north*3")
    assert fault.kind == "no-target"
    assert "singles and pairs ask for five 5 bams, the set holds four" in fault.detail
    (fault,) = faults_of("5bam*6 5bam*6 5bam*2")
    # Fourteen of a kind, four natural: ten jokers, and there are eight.
    assert fault.detail == "no target can be made: it needs ten jokers, the set holds eight"
