import math
import random
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.faults import FaultyInputError
from patterns.rack import Rack
from patterns.tiles import KINDS, Tile
from solver.deals import deal
from solver.review import MAX_EXCHANGES, MAX_SECONDS, Exchange, Record
from solver.rounds import FIRST_CHARLESTON, ORDER, RULES, Round
from tests.solver.played import rack, tiles, tiny

HELD = rack("11b 234c 5d N N E F F green J")
HELD_IN_A_DRILL = rack("11b 234c 5d N N E F F green J 9d")
FIRST = Exchange(Round.FIRST_RIGHT, tiles("1b 2c N"), tiles("9d 9d S"))
SECOND = Exchange(Round.FIRST_ACROSS, tiles("9d E 5d"), tiles("1b W F"))
THIRD = Exchange(Round.FIRST_LEFT, tiles("3c W"), tiles("7b 8b"), blind=1, seconds=12.5)
Place = tuple[str | int, ...]


def record(*exchanges: Exchange, held: Rack | None = None, drill: bool = False) -> Record:
    held = held or (HELD_IN_A_DRILL if drill else HELD)
    return Record(tiny(), held, exchanges, drill=drill)


def faults(*exchanges: Exchange, held: Rack | None = None, drill: bool = False) -> list[tuple[str, Place]]:
    with pytest.raises(FaultyInputError) as caught:
        record(*exchanges, held=held, drill=drill)
    assert all(fault.detail for fault in caught.value.faults)
    return [(fault.kind, fault.place) for fault in caught.value.faults]


def plain(*rounds: Round) -> list[Exchange]:
    """Pass the same three tiles that come back each time: only the order of rounds can be at fault."""
    return [Exchange(round_, tiles("2c 3c 4c"), tiles("2c 3c 4c")) for round_ in rounds]


def test_what_can_have_happened_is_accepted() -> None:
    assert record(FIRST, SECOND, THIRD).exchanges == (FIRST, SECOND, THIRD)


@pytest.mark.parametrize("length", range(1, 8))
def test_a_charleston_may_end_early(length: int) -> None:
    assert len(record(*plain(*ORDER[:length])).exchanges) == length


def test_the_second_may_be_voted_down_and_the_courtesy_pass_still_played() -> None:
    record(*plain(*FIRST_CHARLESTON, Round.COURTESY))


@pytest.mark.parametrize(
    ("rounds", "wrong"),
    [
        ((Round.FIRST_ACROSS,), [0]),
        ((Round.COURTESY,), [0]),
        ((Round.SECOND_LEFT,), [0]),
        ((Round.FIRST_RIGHT, Round.FIRST_RIGHT), [1]),
        ((Round.FIRST_RIGHT, Round.FIRST_LEFT), [1]),
        ((Round.FIRST_RIGHT, Round.FIRST_ACROSS, Round.COURTESY), [2]),
        ((*FIRST_CHARLESTON, Round.SECOND_RIGHT), [3]),
        ((*FIRST_CHARLESTON, Round.SECOND_LEFT, Round.COURTESY), [4]),
        ((*FIRST_CHARLESTON, Round.COURTESY, Round.COURTESY), [4]),
        ((*FIRST_CHARLESTON, Round.COURTESY, Round.SECOND_LEFT), [4]),
        ((*ORDER, Round.FIRST_RIGHT), [7]),
        ((Round.FIRST_LEFT, Round.FIRST_RIGHT, Round.FIRST_ACROSS, Round.FIRST_ACROSS), [0, 1, 3]),
    ],
)
def test_rounds_out_of_order(rounds: tuple[Round, ...], wrong: list[int]) -> None:
    expected = [("round-order", ("exchanges", index, "round")) for index in wrong]
    assert faults(*plain(*rounds)) == expected


def test_the_fault_of_order_says_what_may_follow() -> None:
    with pytest.raises(FaultyInputError) as caught:
        record(*plain(*FIRST_CHARLESTON, Round.FIRST_RIGHT))
    detail = caught.value.faults[0].detail
    assert all(word in detail for word in ("first_right", "first_left", "second_left", "courtesy"))


def test_a_drill_has_its_exchanges_in_any_order() -> None:
    rounds = (Round.FIRST_ACROSS, Round.FIRST_RIGHT, Round.FIRST_RIGHT, Round.SECOND_LEFT, Round.COURTESY)
    record(*plain(*rounds), drill=True)
    assert faults(*plain(*rounds))


@pytest.mark.parametrize("drill", [False, True])
@pytest.mark.parametrize("length", [0, 13])
def test_one_to_twelve_exchanges(length: int, drill: bool) -> None:
    assert MAX_EXCHANGES == 12
    assert faults(*plain(*[Round.FIRST_RIGHT] * length), drill=drill) == [("range", ("exchanges",))]
    record(*plain(*[Round.FIRST_RIGHT] * 12), drill=True)


def test_a_drill_has_fourteen_tiles() -> None:
    assert faults(*plain(Round.FIRST_RIGHT), held=HELD, drill=True) == [("wrong-count", ("rack",))]


def test_passing_what_is_not_held() -> None:
    wrong = replace(FIRST, given=tiles("1b 9c 9c"))
    assert faults(wrong) == [("not-held", ("exchanges", 0, "given"))]
    with pytest.raises(FaultyInputError, match=r"2 of 9 crak \(9c\) given: the rack had 0"):
        record(wrong)


def test_passing_more_of_a_kind_than_held() -> None:
    assert faults(replace(FIRST, given=tiles("1b 1b 1b"))) == [("not-held", ("exchanges", 0, "given"))]
    record(replace(FIRST, given=tiles("1b 1b N")))


def test_what_was_passed_is_no_longer_held_and_what_came_in_is() -> None:
    gone = replace(SECOND, given=tiles("2c E 5d"))
    assert faults(FIRST, gone) == [("not-held", ("exchanges", 1, "given"))]
    record(FIRST, replace(SECOND, given=tiles("9d 9d S")))


def test_what_comes_in_cannot_go_in_the_same_exchange() -> None:
    assert faults(replace(FIRST, given=tiles("9d 2c N"))) == [("not-held", ("exchanges", 0, "given"))]


@pytest.mark.parametrize("part", ["given", "received"])
def test_a_joker_passed_or_received(part: str) -> None:
    wrong = replace(FIRST, **{part: tiles("1b 2c J")})
    assert faults(wrong) == [("joker", ("exchanges", 0, part))]


def test_a_fifth_copy() -> None:
    wrong = replace(FIRST, received=tiles("N N N"))
    record(wrong)  # two held, one given, three received: four
    assert faults(replace(wrong, given=tiles("1b 1b 2c"))) == [
        ("too-many-copies", ("exchanges", 0, "received"))
    ]


def test_a_fifth_copy_that_comes_later() -> None:
    first = replace(FIRST, given=tiles("2c 3c 4c"), received=tiles("N N S"))
    second = replace(SECOND, given=tiles("1b 1b 5d"), received=tiles("N S S"))
    third = replace(THIRD, given=tiles("E"), received=tiles("9d"), blind=2)
    assert faults(first, second, third) == [("too-many-copies", ("exchanges", 1, "received"))]


def test_a_ninth_flower() -> None:
    held = rack("F F F F F F F 1b 2b 3b 4b 5b 6b")
    two = Exchange(Round.FIRST_RIGHT, tiles("1b 2b 3b"), tiles("F F 9d"))
    assert faults(two, held=held) == [("too-many-copies", ("exchanges", 0, "received"))]
    record(replace(two, received=tiles("F 9d 9d")), held=held)


@pytest.mark.parametrize("round_", [round_ for round_ in ORDER if not RULES[round_].blind])
def test_blind_where_it_is_not_allowed(round_: Round) -> None:
    exchanges = plain(*ORDER[: ORDER.index(round_) + 1])
    exchanges[-1] = replace(exchanges[-1], given=tiles("2c 3c"), received=tiles("2c 3c"), blind=1)
    assert faults(*exchanges) == [("blind", ("exchanges", len(exchanges) - 1, "blind"))]


@pytest.mark.parametrize("blind", range(4))
@pytest.mark.parametrize("round_", [Round.FIRST_LEFT, Round.SECOND_RIGHT])
def test_blind_tiles_make_up_three(round_: Round, blind: int) -> None:
    exchanges = plain(*ORDER[: ORDER.index(round_) + 1])
    own = tiles("2c 3c 4c")[blind:]
    exchanges[-1] = replace(exchanges[-1], given=own, received=own, blind=blind)
    record(*exchanges)
    exchanges[-1] = replace(exchanges[-1], blind=(blind + 1) % 4)
    assert faults(*exchanges) == [("wrong-count", ("exchanges", len(exchanges) - 1, "given"))]


def test_blind_tiles_are_none_to_three() -> None:
    four = replace(THIRD, given=tiles("3c W F F"), received=tiles("7b 8b 9b 6b"), blind=-1)
    assert faults(FIRST, SECOND, four) == [("range", ("exchanges", 2, "blind"))]
    assert ("range", ("exchanges", 2, "blind")) in faults(FIRST, SECOND, replace(THIRD, blind=4))


@pytest.mark.parametrize("count", [0, 1, 2, 4])
def test_three_tiles_go(count: int) -> None:
    some = tiles("2c 3c 4c 5d")[:count]
    assert faults(replace(FIRST, given=some, received=some)) == [("wrong-count", ("exchanges", 0, "given"))]


@pytest.mark.parametrize("count", range(5))
def test_up_to_three_go_by_courtesy(count: int) -> None:
    some = tiles("2c 3c 4c 5d")[:count]
    exchanges = [*plain(*FIRST_CHARLESTON), Exchange(Round.COURTESY, some, some)]
    if count <= 3:
        record(*exchanges)
    else:
        assert faults(*exchanges) == [("wrong-count", ("exchanges", 3, "given"))]


@pytest.mark.parametrize("received", ["", "9d 9d", "9d 9d S S"])
def test_as_many_come_in_as_go(received: str) -> None:
    assert faults(replace(FIRST, received=tiles(received))) == [("wrong-count", ("exchanges", 0, "received"))]


@pytest.mark.parametrize("seconds", [-0.001, MAX_SECONDS + 0.001, math.nan, math.inf, -math.inf])
def test_seconds_out_of_range(seconds: float) -> None:
    assert faults(replace(FIRST, seconds=seconds)) == [("range", ("exchanges", 0, "seconds"))]


@pytest.mark.parametrize("seconds", [None, 0.0, 0.1, MAX_SECONDS])
def test_seconds_in_range(seconds: float | None) -> None:
    assert MAX_SECONDS == 24 * 60 * 60
    record(replace(FIRST, seconds=seconds))


def test_all_faults_at_once_each_with_its_place() -> None:
    first = Exchange(Round.FIRST_ACROSS, tiles("1b 9c J J"), tiles("E J"), blind=1, seconds=-1.0)
    second = Exchange(Round.FIRST_LEFT, tiles("5d 2c 3c"), tiles("E E E"), seconds=math.nan)
    third = Exchange(Round.COURTESY, tiles("4c N"), tiles("S"), blind=2)
    assert faults(first, second, third) == [
        ("round-order", ("exchanges", 0, "round")),
        ("blind", ("exchanges", 0, "blind")),
        ("wrong-count", ("exchanges", 0, "given")),
        ("wrong-count", ("exchanges", 0, "received")),
        ("joker", ("exchanges", 0, "given")),
        ("joker", ("exchanges", 0, "received")),
        ("not-held", ("exchanges", 0, "given")),
        ("range", ("exchanges", 0, "seconds")),
        ("too-many-copies", ("exchanges", 1, "received")),
        ("range", ("exchanges", 1, "seconds")),
        ("blind", ("exchanges", 2, "blind")),
        ("wrong-count", ("exchanges", 2, "received")),
    ]


def test_moments_are_the_rack_and_the_tiles_passed() -> None:
    moments = record(FIRST, SECOND, THIRD).moments()
    assert [moment.rack for moment in moments] == [
        HELD,
        rack("1b 34c 5d N E F F green J 9d 9d S"),
        rack("11b 34c N F F F green J 9d S W"),
        rack("11b 4c 78b N F F F green J 9d S"),
    ]
    assert [Counter(moment.seen) for moment in moments] == [
        Counter(),
        Counter(FIRST.given),
        Counter(FIRST.given + SECOND.given),
        Counter(FIRST.given + SECOND.given + THIRD.given),
    ]


def test_a_tile_that_comes_back_is_another_one_as_long_as_there_can_be_one() -> None:
    held = rack("1b 1b 1b 234c 5d N N E F F green J")
    first = Exchange(Round.FIRST_RIGHT, tiles("1b 1b 2c"), tiles("1b 1b 9d"))
    _, after = record(first, held=held).moments()
    # Three in the rack, so only one of the two that went can still be elsewhere.
    assert after.rack.tiles.count(Tile.B1) == 3
    assert Counter(after.seen) == Counter(tiles("1b 2c"))


@given(st.integers(0, 10_000), st.sampled_from([13, 14]), st.integers(0, 10_000))
@settings(max_examples=60, deadline=None)
def test_tiles_are_conserved_and_no_joker_moves(seed: int, size: int, luck: int) -> None:
    """However a Charleston goes with tiles dealt from one set, its record is accepted and holds them all."""
    dealt = deal(seed, 0, size)
    held, heap, passed = Counter(dealt.rack.tiles), list(dealt.heap), Counter[Tile]()
    exchanges, chosen = [], random.Random(luck)
    for round_ in ORDER:
        give = chosen.choice(RULES[round_].allowed)
        naturals = [tile for tile in held.elements() if tile is not Tile.JOKER]
        given_now = tuple(chosen.sample(naturals, give))
        incoming, heap = tuple(heap[:give]), heap[give:]
        exchanges.append(Exchange(round_, given_now, incoming, 3 - give if RULES[round_].blind else 0))
        held = held - Counter(given_now) + Counter(incoming)
        passed.update(given_now)
    moments = record(*exchanges, held=dealt.rack).moments()
    assert Counter(moments[-1].rack.tiles) == held
    assert Counter(moments[-1].seen) == passed
    for moment in moments:
        assert len(moment.rack.tiles) == size
        assert moment.rack.tiles.count(Tile.JOKER) == dealt.rack.tiles.count(Tile.JOKER)
        assert Tile.JOKER not in moment.seen
        known = Counter(moment.rack.tiles) + Counter(moment.seen)
        assert all(known[tile] <= tile.copies for tile in KINDS)
