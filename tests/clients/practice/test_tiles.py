"""Tiles are read here as the service reads them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clients.cli.practice.tiles import TOKENS, in_order, read_tiles
from patterns.faults import FaultyInputError
from patterns.rack import parse_tiles
from patterns.tiles import KINDS

_PIECES = st.sampled_from(
    [
        *TOKENS,
        *("12", "455", "b", " c", "dots", "craks", "BAM", "soap", "gr", "re", "wh", "joker", "Flowers"),
        *(" ", ", ", ";", "\t", "0", "x", "+", "new", "s", "east", "\u00a0", "b1"),
    ]
)


def test_the_tokens_are_those_of_the_set_in_its_order() -> None:
    assert list(TOKENS) == [kind.value for kind in KINDS]
    assert in_order(reversed(TOKENS)) == list(TOKENS)


@given(st.lists(_PIECES, max_size=8).map("".join))
def test_every_text_is_read_as_the_service_reads_it(text: str) -> None:
    tokens, faults = read_tiles(text)
    try:
        expected = [tile.value for tile in parse_tiles(text)]
    except FaultyInputError as error:
        assert [fault.partition(":")[0] for fault in faults] == [
            fault.detail.partition(":")[0] for fault in error.faults
        ]
    else:
        assert (tokens, faults) == (expected, [])


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("4b x", ["column 4: 'x' is not a tile"]),
        (
            "45 N 9z",
            ["column 1: '45' has no suit (write b, c or d after the ranks)", "column 6: '9z' is not a tile"],
        ),
        ("y" * 30, [f"column 1: '{'y' * 20}...' is not a tile"]),
    ],
)
def test_what_is_no_tile_is_named_with_its_column(text: str, faults: list[str]) -> None:
    assert read_tiles(text)[1] == faults


def test_a_long_run_of_words_takes_no_time() -> None:
    assert len(read_tiles("green" * 20_000 + "!")[1]) == 1
