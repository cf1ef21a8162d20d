"""Records that can and cannot have happened; Charlestons played by the program, graded and counted out."""

import random
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.faults import FaultyInputError
from patterns.rack import Pile, Rack
from patterns.tiles import KINDS, Tile
from solver.advice import advise
from solver.arrivals import CHOOSING, Arrivals, default_arrivals
from solver.coach.review import Exchange, GradedPass, Pace, Record, Review, review
from solver.deals import deal
from solver.limits import Limits, hand_weights
from solver.passes import Score, score
from solver.rounds import FIRST_CHARLESTON, ORDER, RULES, Round
from solver.situation import POWER, Question, Situation, tables_of
from solver.why import reasons
from tests.solver.played import count_out, graded_best, own, played_best, rack, tiles, tiny

HELD = rack("11b 234c 5d N N E F F green J")
HELD_IN_A_DRILL = rack("11b 234c 5d N N E F F green J 9d")
FIRST = Exchange(Round.FIRST_RIGHT, tiles("1b 2c N"), tiles("9d 9d S"))
SECOND = Exchange(Round.FIRST_ACROSS, tiles("9d E 5d"), tiles("1b W F"))
THIRD = Exchange(Round.FIRST_LEFT, tiles("3c W"), tiles("7b 8b"), blind=1, seconds=12.5)
DRILL = (Round.FIRST_RIGHT,) * 3
SHORT = (*FIRST_CHARLESTON, Round.COURTESY)
# (seed, rounds, size, tiles drawn after a drill)
PLAYED = [
    (61, ORDER, 14, None),
    (62, SHORT, 13, None),
    (63, ORDER, 13, None),
    (64, DRILL, 14, 20),
    (60, SHORT, 14, 38),
]
Played = tuple[int, tuple[Round, ...], int, int | None]


def record(*exchanges: Exchange, held: Rack | None = None, drill: bool = False) -> Record:
    held = held or (HELD_IN_A_DRILL if drill else HELD)
    return Record(tiny(), held, exchanges, drill=drill)


def faults(*exchanges: Exchange, held: Rack | None = None, drill: bool = False) -> list[tuple[object, ...]]:
    with pytest.raises(FaultyInputError) as caught:
        record(*exchanges, held=held, drill=drill)
    assert all(fault.detail for fault in caught.value.faults)
    return [(fault.kind, *fault.place[1:]) for fault in caught.value.faults]


def plain(*rounds: Round) -> list[Exchange]:
    """Pass the same three tiles that come back each time: only the order of rounds can be at fault."""
    return [Exchange(round_, tiles("2c 3c 4c"), tiles("2c 3c 4c")) for round_ in rounds]


def test_what_can_have_happened_is_accepted_also_when_it_ended_early() -> None:
    assert record(FIRST, SECOND, THIRD).exchanges == (FIRST, SECOND, THIRD)
    for length in range(1, 8):
        record(*plain(*ORDER[:length]))
    record(*plain(*FIRST_CHARLESTON, Round.COURTESY))


@pytest.mark.parametrize(
    ("rounds", "wrong"),
    [
        ((Round.FIRST_RIGHT, Round.FIRST_ACROSS, Round.COURTESY), [2]),
        ((*FIRST_CHARLESTON, Round.SECOND_RIGHT), [3]),
        ((*FIRST_CHARLESTON, Round.SECOND_LEFT, Round.COURTESY), [4]),
        ((*FIRST_CHARLESTON, Round.COURTESY, Round.SECOND_LEFT), [4]),
        ((*ORDER, Round.FIRST_RIGHT), [7]),
        ((Round.FIRST_LEFT, Round.FIRST_RIGHT, Round.FIRST_ACROSS, Round.FIRST_ACROSS), [0, 1, 3]),
    ],
)
def test_rounds_out_of_order_unless_in_a_drill(rounds: tuple[Round, ...], wrong: list[int]) -> None:
    assert faults(*plain(*rounds)) == [("round-order", index, "round") for index in wrong]
    record(*plain(*rounds), drill=True)


def test_a_drill_has_twelve_exchanges_at_most() -> None:
    assert faults(*plain(*[Round.FIRST_RIGHT] * 13), drill=True) == [("range",)]
    record(*plain(*[Round.FIRST_RIGHT] * 12), drill=True)


@pytest.mark.parametrize(
    ("exchange", "wrong"),
    [
        (replace(FIRST, given=tiles("1b 1b 1b")), [("not-held", 0, "given")]),
        (replace(FIRST, given=tiles("1b 1b N")), []),
        (replace(FIRST, given=tiles("9d 2c N")), [("not-held", 0, "given")]),  # what comes in now
        (replace(FIRST, given=tiles("1b 2c J")), [("joker", 0, "given")]),
        (replace(FIRST, received=tiles("1b 2c J")), [("joker", 0, "received")]),
        (replace(FIRST, received=tiles("N N N")), []),  # two held, one given, three received: four
        (replace(FIRST, received=tiles("9d 9d")), [("wrong-count", 0, "received")]),
        (replace(FIRST, given=tiles("1b 2c"), received=tiles("9d 9d")), [("wrong-count", 0, "given")]),
        (replace(FIRST, blind=1), [("blind", 0, "blind")]),  # three are given, as they should be
        (
            replace(FIRST, given=tiles("1b 2c"), received=tiles("9d 9d"), blind=1),
            [("blind", 0, "blind"), ("wrong-count", 0, "given")],
        ),
    ],
)
def test_tiles_and_times_of_an_exchange(exchange: Exchange, wrong: list[tuple[object, ...]]) -> None:
    if wrong:
        assert faults(exchange) == wrong
    else:
        record(exchange)


def test_what_was_passed_is_no_longer_held_and_what_came_in_is() -> None:
    assert faults(FIRST, replace(SECOND, given=tiles("2c E 5d"))) == [("not-held", 1, "given")]
    record(FIRST, replace(SECOND, given=tiles("9d 9d S")))


@pytest.mark.parametrize("blind", range(4))
@pytest.mark.parametrize("round_", [Round.FIRST_LEFT, Round.SECOND_RIGHT])
def test_blind_tiles_make_up_three(round_: Round, blind: int) -> None:
    exchanges = plain(*ORDER[: ORDER.index(round_) + 1])
    some = tiles("2c 3c 4c")[blind:]
    exchanges[-1] = replace(exchanges[-1], given=some, received=some, blind=blind)
    record(*exchanges)
    exchanges[-1] = replace(exchanges[-1], blind=(blind + 1) % 4)
    assert faults(*exchanges) == [("wrong-count", len(exchanges) - 1, "given")]


def test_all_faults_at_once_each_with_its_place() -> None:
    first = Exchange(Round.FIRST_ACROSS, tiles("1b 9c J J"), tiles("E J"), blind=1)
    second = Exchange(Round.FIRST_LEFT, tiles("5d 2c 3c"), tiles("E E E"))
    third = Exchange(Round.COURTESY, tiles("4c N"), tiles("S"), blind=2)
    assert faults(first, second, third) == [
        ("round-order", 0, "round"),
        ("blind", 0, "blind"),
        ("wrong-count", 0, "given"),
        ("joker", 0, "given"),
        ("not-held", 0, "given"),
        ("wrong-count", 0, "received"),
        ("joker", 0, "received"),
        ("too-many-copies", 1, "received"),
        ("blind", 2, "blind"),
        ("wrong-count", 2, "received"),
    ]
    with pytest.raises(FaultyInputError) as caught:
        record(FIRST, held=HELD, drill=True)
    assert [(fault.kind, fault.place) for fault in caught.value.faults] == [("wrong-count", ("rack",))]


def test_moments_are_the_rack_and_the_tiles_passed() -> None:
    moments = record(FIRST, SECOND, THIRD).moments()
    assert [held for held, _ in moments] == [
        HELD,
        rack("1b 34c 5d N E F F green J 9d 9d S"),
        rack("11b 34c N F F F green J 9d S W"),
        rack("11b 4c 78b N F F F green J 9d S"),
    ]
    gone = [(), FIRST.given, FIRST.given + SECOND.given, FIRST.given + SECOND.given + THIRD.given]
    assert [Counter(seen) for _, seen in moments] == [Counter(each) for each in gone]


@given(st.integers(0, 10_000), st.sampled_from([13, 14]), st.integers(0, 10_000))
@settings(max_examples=40, deadline=None)
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
    assert [Counter(tiles) for tiles in (moments[-1][0].tiles, moments[-1][1])] == [held, passed]
    for pile, seen in moments:
        assert len(pile.tiles) == size and Tile.JOKER not in seen
        assert pile.tiles.count(Tile.JOKER) == dealt.rack.tiles.count(Tile.JOKER)


def made_by_scorer(graded: GradedPass, arrivals: Arrivals, drill: bool = False) -> float:
    """Score a pass from the rack and the tiles seen alone."""
    asked = graded.best.question
    situation = Situation(asked.rack, asked.seen, arrivals, jokers_in_wall=not drill)
    weights = hand_weights(own(), Limits())
    return score(situation, tables_of(own()), weights, graded.exchange.given).strength


@pytest.mark.parametrize("played", PLAYED)
def test_best_passes_give_up_nothing(played: Played) -> None:
    result = graded_best(*played)
    assert len(result.passes) == len(played[1])
    for graded in result.passes:
        assert graded.best.passed == graded.exchange.given
        assert graded.given_up == graded.share == 0.0
        assert graded.within_resolution and graded.made.loses == ()
        assert graded.made.strength == pytest.approx(graded.best.strength, rel=1e-14)
        assert graded.made.strength > 0 and graded.hindsight.strength >= graded.hindsight.made - 1e-7
    assert result.given_up == 0.0 and result.costliest is None


@pytest.mark.parametrize(
    ("played", "spoil"),
    [*((PLAYED[0], spoil) for spoil in (0, 4)), *zip(PLAYED[1:], (2, 6, 1, 3), strict=True)],
)
def test_one_worse_pass_is_charged_and_no_other(played: Played, spoil: int) -> None:
    best, result = graded_best(*played), graded_best(*played, spoil)
    _, rounds, _, draws = played
    spoilt = result.passes[spoil]
    # Before it nothing is changed, and after it all passes are best again for the rack that was left.
    assert result.passes[:spoil] == best.passes[:spoil]
    assert [graded.given_up for graded in result.passes[spoil + 1 :]] == [0.0] * (len(rounds) - spoil - 1)

    give = len(spoilt.exchange.given)
    arrivals: Arrivals = default_arrivals(rounds[spoil], give)
    if draws is not None:
        arrivals = Arrivals.of(give + 3 * (len(rounds) - spoil - 1), draws, 0)
    made = made_by_scorer(spoilt, arrivals, draws is not None)
    assert spoilt.made.strength == pytest.approx(made, abs=1e-12)
    expected = best.passes[spoil].best.strength - made
    assert expected > 0.001 * made and not spoilt.within_resolution
    assert spoilt.given_up == result.given_up == pytest.approx(expected, abs=1e-12)
    assert spoilt.share == pytest.approx(expected / best.passes[spoil].best.strength, abs=1e-12)
    assert result.costliest == spoil
    kept = sum(graded.best.strength for graded in result.passes)
    assert result.share == pytest.approx(expected / kept, abs=1e-12)
    # The best pass and the one made are compared hand by hand.
    differences = [(each.before**POWER - each.after**POWER) * each.hand.weight for each in spoilt.made.loses]
    assert 1 <= len(differences) <= 3 and differences == sorted(differences, reverse=True)
    assert differences[-1] > 0


def test_a_hand_that_differs_by_the_last_digit_is_no_reason() -> None:
    best, made = np.full((2, len(own().hands)), 0.25)
    best[:3] = 0.5, np.nextafter(0.5, 1), np.nextafter(0.25, 1)
    scores = (Score((), reach, np.zeros(len(reach), np.intp), 0.0, 0.0) for reach in (best, made))
    equal = Limits.of(weights=tuple((hand.name, 1.0) for hand in own().hands))
    found = reasons(Question(own(), HELD, Round.FIRST_RIGHT, limits=equal), *scores)
    assert [loss.hand for loss in found] == list(own().hands[:2])


def test_the_best_pass_is_the_best_of_all_counted_out() -> None:
    for graded, round_ in zip(review(played_best(65, SHORT, size=13, spoil=1)).passes, SHORT, strict=True):
        question = Question(own(), graded.best.question.rack, round_, seen=graded.best.question.seen)
        # The number by courtesy is the smaller of two wishes; that of blind tiles is part of the choice.
        numbers = [len(graded.exchange.given)] if round_ is Round.COURTESY else question.numbers_to_compare
        assert [len(value.passed) for value in graded.best.by_number] == list(numbers)
        best = max(max(count_out(replace(question, give=give)).values()) for give in numbers)
        assert graded.best.strength == pytest.approx(best, abs=graded.best.resolution)


def test_what_was_passed_before_is_known_and_what_comes_in_later_is_not() -> None:
    first, second, *rest = played_best(66, ORDER).exchanges
    start = deal(66, 0).rack
    result = review(Record(own(), start, (first, second)))
    assert result.passes[1].best.question.seen == first.given
    # Another incoming pass changes the hindsight of the first, not its grade.
    (changed,) = review(Record(own(), start, (replace(first, received=rest[0].received),))).passes
    assert changed.best == result.passes[0].best
    assert changed.hindsight != result.passes[0].hindsight


def test_passing_blind_when_that_is_worse_is_charged() -> None:
    whole = played_best(68, FIRST_CHARLESTON)
    best = review(whole).passes[2].best
    assert len(best.passed) == 3
    blind = replace(whole.exchanges[2], given=(), received=(), blind=3)
    graded = review(replace(whole, exchanges=(*whole.exchanges[:2], blind))).passes[2]
    none_given = next(value for value in best.by_number if not value.passed)
    assert graded.made.strength == pytest.approx(none_given.strength, abs=1e-12)
    assert graded.given_up == pytest.approx(best.strength - none_given.strength, abs=1e-12)


def counted_hindsight(graded: GradedPass) -> float:
    """Return the best that any pass of the old rack could have left, given what came in."""
    asked, exchange = graded.best.question, graded.exchange
    pile = Pile((*asked.rack.tiles, *exchange.received))
    later = default_arrivals(None).after(CHOOSING.later[ORDER.index(exchange.round)])
    room = Counter({tile: tile.copies for tile in KINDS}) - Counter(pile.tiles)
    situation = Situation(pile, tuple((Counter(asked.seen) & room).elements()), later)
    weights = hand_weights(own(), Limits())
    question = Question(own(), asked.rack, Round.FIRST_LEFT, len(exchange.given))
    passes = list(count_out(question))
    return max(score(situation, tables_of(own()), weights, passed).strength for passed in passes)


def test_hindsight_is_the_best_with_what_came_in() -> None:
    for graded in graded_best(71, FIRST_CHARLESTON).passes:
        seen = graded.hindsight
        assert seen.strength == pytest.approx(counted_hindsight(graded), abs=1e-7)
        assert len(seen.passed) == len(graded.exchange.given)
        assert not Counter(seen.passed) - Counter(graded.best.question.rack.tiles)
    # A rack of fourteen kinds and three more that come in: more kinds than one rack can have.
    exchange = Exchange(Round.FIRST_RIGHT, KINDS[:3], KINDS[14:17])
    (graded,) = review(Record(own(), Rack(KINDS[:14]), (exchange,))).passes
    assert graded.hindsight.strength == pytest.approx(counted_hindsight(graded), abs=1e-7)
    # A tile passed before that comes back is no longer elsewhere.
    held = rack("1b 1b 1b 1b 2c 2c 4d 4d F F 9c 9d N E")
    there = Exchange(Round.FIRST_RIGHT, tiles("1b 9c N"), tiles("4d 8d S"))
    back = Exchange(Round.FIRST_ACROSS, tiles("8d S E"), tiles("1b F 2c"))
    graded = review(Record(own(), held, (there, back))).passes[1]
    assert graded.hindsight.strength == pytest.approx(counted_hindsight(graded), abs=1e-7)


@pytest.mark.parametrize(
    ("played", "length", "arrivals"),
    [
        *((PLAYED[0], length, default_arrivals(None)) for length in (1, 4, 7)),
        (PLAYED[3], 3, Arrivals.of(0, 20, 0)),
    ],
)
def test_the_end_is_what_draws_and_claims_may_still_bring(
    played: Played, length: int, arrivals: Arrivals
) -> None:
    whole = graded_best(*played).record
    result = review(replace(whole, exchanges=whole.exchanges[:length]))
    pile, seen = result.record.moments()[-1]
    situation = Situation(pile, seen, arrivals, jokers_in_wall=not whole.drill)
    expected = score(situation, tables_of(own()), hand_weights(own(), Limits()), ()).strength
    assert len(result.passes) == length
    assert result.hands.after.strength == pytest.approx(expected, abs=1e-12)
    reach = [standing.reach for standing in result.hands]
    assert reach == sorted(reach, reverse=True)


def timed(record: Record, seconds: list[float | None]) -> Review:
    exchanges = zip(record.exchanges, seconds, strict=True)
    return review(replace(record, exchanges=tuple(replace(each, seconds=time) for each, time in exchanges)))


@pytest.mark.parametrize(
    ("seconds", "pace"),
    [
        (0.0, Pace.ADVANCED),
        (120.0, Pace.ADVANCED),
        (120.001, Pace.INTERMEDIATE),
        (180.0, Pace.INTERMEDIATE),
        (240.0, Pace.BEGINNER),
        (240.001, Pace.SLOWER),
    ],
)
def test_bands_of_two_three_and_four_minutes(seconds: float, pace: Pace) -> None:
    """About 2 minutes advanced, 3 intermediate, 4 beginner: common practice, no source."""
    assert Pace.of(seconds) is pace


def test_pace_is_stated_of_a_whole_charleston_that_was_timed() -> None:
    whole = graded_best(61, ORDER).record
    assert (result := timed(whole, [20.0] * 7)).seconds == 140.0 and result.pace is Pace.INTERMEDIATE
    without_courtesy = replace(whole, exchanges=whole.exchanges[:6])
    assert timed(without_courtesy, [20.0] * 6).pace is Pace.ADVANCED
    partly = timed(whole, [20.0, None, *[20.0] * 5])
    assert (partly.seconds, partly.pace) == (None, None)
    short = timed(replace(whole, exchanges=whole.exchanges[:5]), [20.0] * 5)
    assert (short.seconds, short.pace) == (100.0, None)


def test_an_equal_pass_is_within_resolution() -> None:
    """Three of four useless tiles: any three will do."""
    held = rack("F F F F N N N W W 1b 2b 3b 4b")
    other = tiles("2b 3b 4b")
    assert advise(Question(tiny(), held, Round.FIRST_RIGHT)).passed != other
    (graded,) = review(Record(tiny(), held, (Exchange(Round.FIRST_RIGHT, other, tiles("9d 9d 9d")),))).passes
    assert graded.given_up == 0.0 and graded.within_resolution
