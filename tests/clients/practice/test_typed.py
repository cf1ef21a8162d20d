import pytest

from clients.cli.practice.rounds import allows_blind, in_words, rounds_of
from clients.cli.practice.typed import Pass, Wish, pass_of, wish_of
from solver.rounds import FIRST_CHARLESTON, RULES, SECOND_CHARLESTON

_TOGETHER = "they must make 3 (+1 passes on one tile unseen)"
RACK = ["4b", "4b", "4c", "5c", "1d", "N", "E", "E", "green", "F", "F", "J", "J", "9d"]


def test_rounds_come_in_the_order_of_play_and_begin_again() -> None:
    order = tuple(round_.value for round_ in (*FIRST_CHARLESTON, *SECOND_CHARLESTON))
    assert rounds_of(12) == order * 2
    assert rounds_of(4) == order[:4]
    assert in_words("second_across") == "second across"


def test_blind_passing_is_allowed_where_the_service_allows_it() -> None:
    for round_ in (*FIRST_CHARLESTON, *SECOND_CHARLESTON):
        assert allows_blind(round_.value) == RULES[round_].blind


@pytest.mark.parametrize("line", ["4b 4c E", "e,4B;4C", "4b4cE", "east 4 crak 4 bam", " 4b 4c E +0"])
def test_a_pass_is_typed_freely_and_kept_in_order(line: str) -> None:
    assert pass_of(line, RACK, "first_right") == (Pass(("4b", "4c", "E")), [])


@pytest.mark.parametrize(
    ("line", "given", "blind"),
    [
        ("4b E +1", ("4b", "E"), 1),
        ("4b E+1 ", ("4b", "E"), 1),
        ("E 4b + 1 blind", ("4b", "E"), 1),
        ("4b, E, 1 blind", ("4b", "E"), 1),
        ("4b e BLIND 1", ("4b", "E"), 1),
        ("4b +2", ("4b",), 2),
        ("+3", (), 3),
        ("blind 3", (), 3),
        ("4b 4b E", ("4b", "4b", "E"), 0),
    ],
)
def test_blind_tiles_are_said_with_a_number(line: str, given: tuple[str, ...], blind: int) -> None:
    assert pass_of(line, RACK, "first_left") == (Pass(given, blind), [])


@pytest.mark.parametrize(
    ("line", "round_", "faults"),
    [
        ("4b 4c", "first_right", ["2 tiles: first right takes exactly 3"]),
        ("", "first_right", ["0 tiles: first right takes exactly 3"]),
        ("4b 4c E N", "first_across", ["4 tiles: first across takes exactly 3"]),
        ("4b 4c J", "first_right", ["a joker may never be passed"]),
        ("4b 4c 8d", "first_right", ["8d (8 dot) is not on your rack"]),
        ("4c 4c 4c", "first_right", ["3 of 4c (4 crak): your rack has 1"]),
        ("4b 4c E +1", "first_right", ["first right allows no blind pass"]),
        (
            "4b E +1",
            "first_across",
            ["first across allows no blind pass", "2 tiles: first across takes exactly 3"],
        ),
        (
            "4b E",
            "first_left",
            [f"2 tiles and 0 blind: {_TOGETHER}"],
        ),
        (
            "4b E N +1",
            "second_right",
            [f"3 tiles and 1 blind: {_TOGETHER}"],
        ),
        ("+4", "first_left", ["4 blind: at most 3"]),
        ("4b E b1", "first_left", ["column 6: 'b1' is not a tile"]),
        ("4b 4c x", "first_right", ["column 7: 'x' is not a tile"]),
        (
            "J 9d 9d 8d 5x",
            "first_right",
            [
                "column 12: '5x' is not a tile",
                "4 tiles: first right takes exactly 3",
                "8d (8 dot) is not on your rack",
                "2 of 9d (9 dot): your rack has 1",
                "a joker may never be passed",
            ],
        ),
    ],
)
def test_every_fault_of_a_line_is_named(line: str, round_: str, faults: list[str]) -> None:
    assert pass_of(line, RACK, round_) == (None, faults)


@pytest.mark.parametrize(
    ("line", "wish"),
    [
        *((line, Wish.HELP) for line in ("?", " Help ", "h")),
        *((line, Wish.PAUSE) for line in ("p", "PAUSE")),
        *((line, Wish.STOP) for line in ("q", "stop", "quit")),
        *((line, None) for line in ("", "4b", "p q")),
    ],
)
def test_wishes(line: str, wish: Wish | None) -> None:
    assert wish_of(line) is wish
