"""One lap: how tiles are typed and shown, the rules of a pass, the clock, and interruptions."""

import signal
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clients.cli.play import (
    HELP_WISH,
    PAUSE,
    STOP,
    Lap,
    Pass,
    drawn,
    interruptible,
    is_wish,
    pass_of,
    rounds_of,
)
from patterns.tiles import KINDS
from solver.deals import deal

_TOGETHER = "together they must make 3"
RACK = ["4b", "4b", "4c", "5c", "1d", "N", "E", "E", "green", "F", "F", "J", "J", "9d"]
TOKENS = [kind.value for kind in KINDS]
_CLOSING = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]


@pytest.mark.parametrize(
    ("line", "given"), [("0", ()), ("none", ()), ("N", ("N",)), ("9d 4b E", ("4b", "9d", "E"))]
)
def test_a_courtesy_pass_is_of_none_to_three(line: str, given: tuple[str, ...]) -> None:
    assert pass_of(line, RACK, "courtesy") == (Pass(given), [])


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
        ("4b 4c", "first_right", ["2 given: first right takes 3"]),
        ("", "first_right", ["0 given: first right takes 3"]),
        ("4b 4c E N", "first_across", ["4 given: first across takes 3"]),
        ("4b 4c J", "first_right", ["a joker may never be passed"]),
        ("4b 4c 8d", "first_right", ["one 8 dot (8d): the rack has none"]),
        ("4c 4c 4c", "first_right", ["three 4 craks (4c): the rack has one"]),
        ("4b 4c E +1", "first_right", ["first right allows no blind pass"]),
        ("4b E +1", "first_across", ["first across allows no blind pass", "2 given: first across takes 3"]),
        ("4b E", "first_left", [f"2 given and 0 blind: {_TOGETHER}"]),
        ("4b E N +1", "second_right", [f"3 given and 1 blind: {_TOGETHER}"]),
        ("+4", "first_left", ["4 blind: 0 to 3"]),
        ("4b E b1", "first_left", ["column 6: 'b1' is not a tile"]),
        ("4b 4c x", "first_right", ["column 7: 'x' is not a tile"]),
        (
            "J 9d 9d 8d",
            "first_right",
            [
                "4 given: first right takes 3",
                "a joker may never be passed",
                "one 8 dot (8d): the rack has none",
                "two 9 dots (9d): the rack has one",
            ],
        ),
        ("4y 4c x", "first_right", ["column 1: '4y' is not a tile", "column 7: 'x' is not a tile"]),
        ("4b 4c E N", "courtesy", ["4 given: courtesy takes 0 to 3"]),
        ("4b +1", "courtesy", ["courtesy allows no blind pass"]),
        ("", "courtesy", ['type the tiles to give, or "0" for none']),
    ],
)
def test_every_fault_of_a_line_is_named(line: str, round_: str, faults: list[str]) -> None:
    assert pass_of(line, RACK, round_) == (None, faults)


def test_wishes() -> None:
    for wish, lines in ((HELP_WISH, ("?", " Help ", "h")), (PAUSE, ("p", "PAUSE\n")), (STOP, ("q", "stop"))):
        assert all(is_wish(line, wish) for line in lines)
        assert not any(is_wish(line, wish) for line in ("", "4b", "p q"))


def lap_of(seed: int, index: int, rounds: int) -> Lap:
    dealt = deal(seed, index)
    rack, heap = (tuple(tile.value for tile in tiles) for tiles in (dealt.rack.tiles, dealt.heap))
    return Lap(seed, index, rack, heap, rounds_of(rounds, courtesy=False), "small", "small")


@settings(deadline=None)
@given(st.integers(0, 2**63 - 1), st.integers(1, 12), st.data())
def test_tiles_are_conserved_in_every_exchange(seed: int, rounds: int, data: st.DataObject) -> None:
    lap = lap_of(seed, 0, rounds)
    whole = Counter([*lap.dealt, *lap.heap])
    left: Counter[str] = Counter()
    for turn in range(rounds):
        before = Counter(lap.rack)
        blind = data.draw(st.integers(0, 3)) if lap.round in ("first_left", "second_right") else 0
        may_go = [token for token in lap.rack if token != "J"]
        if len(may_go) < 3 - blind:
            return
        given_tiles = data.draw(st.permutations(may_go))[: 3 - blind]
        received = lap.exchange(Pass(tuple(given_tiles), blind), 1.0)
        taken = lap.heap[3 * turn : 3 * turn + 3]
        # What goes on blind leaves the game as the tiles given do.
        left.update([*given_tiles, *taken[3 - blind :]])
        assert Counter(received) == Counter(taken[: 3 - blind])
        assert Counter(lap.rack) == before - Counter(given_tiles) + Counter(received)
        assert len(lap.rack) == 14
        assert Counter(lap.rack) + Counter(lap.heap[3 * turn + 3 :]) + left == whole
        assert lap.rack.count("J") == before["J"]
    assert lap.finished


def test_a_pass_of_more_than_a_day_is_not_timed() -> None:
    lap = lap_of(1, 0, 1)
    lap.exchange(Pass(tuple(token for token in lap.rack if token != "J")[:3]), 86_400.5)
    assert lap.exchanges[0]["seconds"] is None


def test_tiles_are_drawn_in_rows_of_seven_within_a_page() -> None:
    lines = drawn(TOKENS[:14])
    assert len(lines) == 8
    assert max(map(len, lines)) <= 80
    assert len({len(line) for line in lines}) == 1


def test_every_kind_has_a_face_of_its_own() -> None:
    faces = {tuple(drawn([token])) for token in TOKENS}
    assert len(faces) == len(TOKENS)
    assert drawn(["4c", "green", "F"]) == [
        "╭──────╮ ╭──────╮ ╭──────╮",
        "│  4   │ │green │ │  F   │",
        "│ crak │ │dragon│ │flower│",
        "╰──────╯ ╰──────╯ ╰──────╯",
    ]
    assert drawn([]) == []


@pytest.mark.parametrize("number", [signal.SIGINT, *_CLOSING])
def test_only_the_first_interruption_counts(number: signal.Signals) -> None:
    before = signal.getsignal(number)
    with interruptible():
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(number)
        for again in (signal.SIGINT, *_CLOSING):
            signal.raise_signal(again)
    assert signal.getsignal(number) is before


def test_what_is_ignored_stays_ignored() -> None:
    number = _CLOSING[-1]
    before = signal.signal(number, signal.SIG_IGN)
    try:
        with interruptible():
            signal.raise_signal(number)
    finally:
        signal.signal(number, before)
