"""Charlestons played by the program and graded by it, and checked by counting out."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from patterns.card import Card
from patterns.rack import Rack
from patterns.tiles import Tile
from solver.advice import advise
from solver.arrivals import Arrivals, Coming, after_the_exchanges, default_arrivals
from solver.card_tables import tables_of
from solver.deals import deal
from solver.limits import Choice, Limits, hand_weights
from solver.question import Question
from solver.rescore import Score, score
from solver.review import Exchange, GradedPass, Pace, Record, Review, Session, reasons, review
from solver.rounds import FIRST_CHARLESTON, ORDER, RULES, Round
from solver.situation import Situation
from solver.stopping import StoppedError, Stopper
from tests.solver.played import EFFORT, count_out, grade, graded_best, played_best, rack, small, tiles, tiny
from tests.solver.racks import card

DRILL = (Round.FIRST_RIGHT,) * 3
SHORT = (*FIRST_CHARLESTON, Round.COURTESY)
# (seed, rounds, size, tiles drawn after a drill)
PLAYED = [(61, ORDER, 14, None), (62, SHORT, 13, None), (63, ORDER, 13, None), (64, DRILL, 14, 20)]


def made_by_scorer(graded: GradedPass, arrivals: Coming, drill: bool = False) -> float:
    """Score a pass from the rack and the tiles seen alone."""
    moment = graded.moment
    situation = Situation(moment.rack, moment.seen, arrivals, jokers_in_wall=not drill)
    weights = hand_weights(small(), Limits())
    return score(situation, tables_of(small()), weights, graded.exchange.given).expected


@pytest.mark.parametrize(("seed", "rounds", "size", "draws"), PLAYED)
def test_best_passes_give_up_nothing(
    seed: int, rounds: tuple[Round, ...], size: int, draws: int | None
) -> None:
    result = graded_best(seed, rounds, size, draws)
    assert len(result.passes) == len(rounds)
    for graded in result.passes:
        assert graded.best.passed == graded.exchange.given
        assert graded.given_up == graded.share == 0.0
        assert graded.within_resolution
        assert graded.reasons == ()
        assert graded.made == pytest.approx(graded.best.expected, rel=1e-14)
        assert graded.made > 0
        assert graded.best.proof.status.value == "optimal"
    assert result.given_up == 0.0
    assert result.costliest is None


@pytest.mark.parametrize(
    ("seed", "rounds", "size", "draws", "spoil"),
    [
        (61, ORDER, 14, None, 0),
        (61, ORDER, 14, None, 4),
        (62, SHORT, 13, None, 2),
        (63, ORDER, 13, None, 6),
        (64, DRILL, 14, 20, 1),
    ],
)
def test_one_worse_pass_is_charged_and_no_other(
    seed: int, rounds: tuple[Round, ...], size: int, draws: int | None, spoil: int
) -> None:
    best = graded_best(seed, rounds, size, draws)
    result = graded_best(seed, rounds, size, draws, spoil)
    spoilt = result.passes[spoil]
    assert spoilt.exchange.given != best.passes[spoil].exchange.given
    # Before it nothing is changed, and after it all passes are best again for the rack that was left.
    assert result.passes[:spoil] == best.passes[:spoil]
    assert [graded.given_up for graded in result.passes[spoil + 1 :]] == [0.0] * (len(rounds) - spoil - 1)

    give = len(spoilt.exchange.given)
    if draws is None:
        arrivals: Coming = default_arrivals(rounds[spoil], give)
    else:
        arrivals = Arrivals(give + 3 * (len(rounds) - spoil - 1), draws, 0)
    made = made_by_scorer(spoilt, arrivals, draws is not None)
    assert spoilt.made == pytest.approx(made, abs=1e-12)
    expected = best.passes[spoil].best.expected - made
    assert expected > 0.001 * made
    assert spoilt.given_up == pytest.approx(expected, abs=1e-12)
    assert spoilt.share == pytest.approx(expected / best.passes[spoil].best.expected, abs=1e-12)
    assert not spoilt.within_resolution
    assert result.given_up == spoilt.given_up
    assert result.costliest == spoil

    # The best pass and the one made are compared hand by hand.
    assert 1 <= len(spoilt.reasons) <= 3
    differences = [reason.before - reason.after for reason in spoilt.reasons]
    assert differences == sorted(differences, reverse=True)
    assert differences[-1] > 0


def test_a_hand_that_differs_by_the_last_digit_is_no_reason() -> None:
    one = card("small")
    best, made = np.full((2, len(one.hands)), 0.25)
    best[:3] = 0.5, np.nextafter(0.5, 1), np.nextafter(0.25, 1)
    scores = (Score((), reach, np.zeros(len(reach), np.intp), 0.0) for reach in (best, made))
    found = reasons(one, np.ones(len(best)), *scores)
    assert [loss.hand for loss in found] == list(one.hands[:2])


def test_the_order_in_which_tiles_are_given_does_not_matter() -> None:
    record = graded_best(61, ORDER).record
    turned = [replace(exchange, given=exchange.given[::-1]) for exchange in record.exchanges]
    assert turned[0].given != record.exchanges[0].given
    for graded in grade(replace(record, exchanges=tuple(turned))).passes:
        assert graded.given_up == graded.share == 0.0
        assert graded.reasons == ()


def test_the_best_pass_is_the_best_of_all_counted_out() -> None:
    record = played_best(65, SHORT, size=13, spoil=1)
    for index, graded in enumerate(grade(record).passes):
        question = Question(small(), graded.moment.rack, SHORT[index], seen=graded.moment.seen)
        numbers = (
            [len(graded.exchange.given)] if SHORT[index] is Round.COURTESY else question.numbers_to_compare
        )
        best = max(max(count_out(replace(question, give=give)).values()) for give in numbers)
        assert graded.best.expected == pytest.approx(best, abs=graded.best.proof.resolution)


def test_what_was_passed_before_is_known_and_what_comes_in_later_is_not() -> None:
    first, second, *rest = played_best(66, ORDER).exchanges
    start = deal(66, 0).rack
    result = grade(Record(small(), start, (first, second)))
    assert result.passes[1].moment.seen == first.given
    # Another incoming pass changes the hindsight of the first, not its grade.
    others = rest[0].received
    changed = grade(Record(small(), start, (replace(first, received=others),)))
    assert changed.passes[0].best == result.passes[0].best
    assert changed.passes[0].made == result.passes[0].made
    assert changed.passes[0].hindsight != result.passes[0].hindsight


def test_blind_is_part_of_the_choice_but_the_number_by_courtesy_is_not() -> None:
    result = grade(played_best(67, SHORT, courtesy=1))
    assert len(result.passes[2].best.by_number) == 4
    (value,) = result.passes[3].best.by_number
    assert value.give == 1


def test_passing_blind_when_that_is_worse_is_charged() -> None:
    exchanges = list(played_best(68, FIRST_CHARLESTON).exchanges)
    best = grade(Record(small(), deal(68, 0).rack, tuple(exchanges)))
    assert len(exchanges[2].given) == 3
    exchanges[2] = replace(exchanges[2], given=(), received=(), blind=3)
    result = grade(Record(small(), deal(68, 0).rack, tuple(exchanges)))
    none_given = next(value for value in best.passes[2].best.by_number if value.give == 0)
    assert result.passes[2].made == pytest.approx(none_given.expected, abs=1e-12)
    assert result.passes[2].given_up == pytest.approx(
        best.passes[2].best.expected - none_given.expected, abs=1e-12
    )


@pytest.mark.parametrize("spoil", [None, 0, 2])
@pytest.mark.parametrize("seed", [69])
def test_stated_arrivals_are_the_same_for_best_and_made(seed: int, spoil: int | None) -> None:
    """Draws and claims are those stated, tiles by exchanges those of the round and the number given."""
    played = played_best(seed, FIRST_CHARLESTON, spoil=spoil)
    record = replace(played, arrivals=Arrivals(99, 10, 8))
    for graded, round_ in zip(grade(record).passes, FIRST_CHARLESTON, strict=True):
        best = 0.0
        for give in RULES[round_].allowed:
            arrivals = Arrivals(default_arrivals(round_, give).charleston, 10, 8)
            moment = graded.moment
            question = Question(small(), moment.rack, Round.FIRST_LEFT, give, arrivals, moment.seen)
            best = max(best, *count_out(question).values())
        given = Arrivals(default_arrivals(round_, len(graded.exchange.given)).charleston, 10, 8)
        assert graded.best.expected == pytest.approx(best, abs=graded.best.proof.resolution)
        assert graded.made == pytest.approx(made_by_scorer(graded, given), abs=1e-12)


def away(held: Rack, card: Card, counts: set[str]) -> int:
    """Return the fewest tiles that any target lacks, tile by tile."""
    fewest = 99
    for hand in card.hands:
        if hand.name not in counts:
            continue
        for target in hand.targets:
            left, lacking, for_jokers = Counter(held.tiles), 0, 0
            for group in sorted(target.groups, key=lambda group: group.takes_jokers):
                for _ in range(group.count):
                    if left[group.tile]:
                        left[group.tile] -= 1
                    else:
                        lacking += 1
                        for_jokers += group.takes_jokers
            fewest = min(fewest, lacking - min(left[Tile.JOKER], for_jokers))
    return fewest


@pytest.mark.parametrize("seed", range(75, 78))
def test_tiles_away_is_the_fewest_of_any_target(seed: int) -> None:
    result = graded_best(seed, FIRST_CHARLESTON)
    end = result.record.moments()[-1].rack
    names = {hand.name for hand in small().hands}
    assert result.tiles_away == away(end, small(), names)
    assert result.tiles_away <= min(standing.tiles_away for standing in result.hands)
    for standing in result.hands:
        assert standing.tiles_away >= away(end, small(), {standing.hand.name})


def test_tiles_away_of_hands_that_count_only() -> None:
    record = graded_best(75, FIRST_CHARLESTON).record
    end = record.moments()[-1].rack
    nearest = away(end, small(), {hand.name for hand in small().hands})
    near = {hand.name for hand in small().hands if away(end, small(), {hand.name}) == nearest}
    others = {hand.name for hand in small().hands} - near
    assert near and others
    result = grade(replace(record, limits=Limits(without=Choice(hands=tuple(sorted(near))))))
    assert result.tiles_away == away(end, small(), others) > nearest
    assert {standing.hand.name for standing in result.hands} <= others


@pytest.mark.parametrize("length", [1, 2, 4, 5])
def test_a_charleston_that_ends_early_is_graded(length: int) -> None:
    whole = graded_best(61, ORDER).record
    part = replace(whole, exchanges=whole.exchanges[:length])
    result = grade(part)
    assert len(result.passes) == length
    end = part.moments()[-1]
    situation = Situation(end.rack, end.seen, after_the_exchanges())
    expected = score(situation, tables_of(small()), hand_weights(small(), Limits()), ()).expected
    assert result.expected == pytest.approx(expected, abs=1e-12)
    reach = [standing.reach for standing in result.hands]
    assert reach == sorted(reach, reverse=True)
    assert sum(reach) == pytest.approx(expected, abs=1e-12)


def test_a_drill_ends_with_its_draws() -> None:
    result = graded_best(64, DRILL, 14, 20)
    end = result.record.moments()[-1]
    situation = Situation(end.rack, end.seen, Arrivals(0, 20, 0), jokers_in_wall=False)
    expected = score(situation, tables_of(small()), hand_weights(small(), Limits()), ()).expected
    assert result.expected == pytest.approx(expected, abs=1e-12)


def timed(record: Record, seconds: list[float | None]) -> Review:
    exchanges = zip(record.exchanges, seconds, strict=True)
    return grade(
        replace(record, exchanges=tuple(replace(exchange, seconds=time) for exchange, time in exchanges))
    )


def test_times_and_pace() -> None:
    record = graded_best(82, FIRST_CHARLESTON).record
    brisk = timed(record, [50.0, 40.0, 30.0])
    assert (brisk.seconds, brisk.pace) == (120.0, Pace.ADVANCED)
    assert timed(record, [60.0, 61.0, 60.5]).pace is Pace.BEGINNER
    partly = timed(record, [50.0, None, 30.0])
    assert (partly.seconds, partly.pace) == (None, None)
    assert [graded.exchange.seconds for graded in partly.passes] == [50.0, None, 30.0]


def test_a_session_averages_its_laps() -> None:
    """Laps of 1:52, 2:07 and 1:58 average 1:59; one more that was not timed leaves that as it is."""
    good = graded_best(82, FIRST_CHARLESTON).record
    bad = played_best(82, FIRST_CHARLESTON, spoil=0)
    laps = [
        timed(good, [50.0, 40.0, 22.0]),
        timed(bad, [60.0, 40.0, 27.0]),
        timed(good, [50.0, 40.0, 28.0]),
        timed(good, [50.0, None, 28.0]),
    ]
    session = Session.of(laps)
    assert (session.laps, session.timed, session.seconds) == (4, 3, 119.0)
    assert laps[1].given_up > 0
    assert session.given_up == pytest.approx(laps[1].given_up / 4)
    assert session.tiles_away == pytest.approx((3 * laps[0].tiles_away + laps[1].tiles_away) / 4)
    assert session.within_resolution == pytest.approx(11 / 12)
    untimed = Session.of(laps[3:])
    assert (untimed.laps, untimed.timed, untimed.seconds) == (1, 0, None)


def test_the_costliest_of_two_bad_passes() -> None:
    graded = graded_best(61, ORDER, spoil=0)
    whole = graded.record
    twice = list(whole.exchanges)
    later = graded.passes[1]
    ordered = count_out(Question(small(), later.moment.rack, Round.FIRST_ACROSS, seen=later.moment.seen))
    twice[1] = replace(twice[1], given=list(ordered)[-1])
    result = grade(replace(whole, exchanges=tuple(twice[:2])))
    lost = [passes.given_up for passes in result.passes]
    assert min(lost) > 0
    assert result.given_up == pytest.approx(sum(lost))
    assert result.costliest == lost.index(max(lost))


def test_an_equal_pass_is_within_resolution() -> None:
    """Three of four useless tiles: any three will do."""
    held = rack("F F F F N N N W W 1b 2b 3b 4b")
    best = advise(Question(tiny(), held, Round.FIRST_RIGHT)).passed
    other = tiles("2b 3b 4b")
    assert best != other
    (graded,) = grade(Record(tiny(), held, (Exchange(Round.FIRST_RIGHT, other, tiles("9d 9d 9d")),))).passes
    assert graded.given_up == 0.0
    assert graded.within_resolution


def test_a_stop_ends_it() -> None:
    stopper = Stopper()
    stopper.stop()
    with pytest.raises(StoppedError):
        review(graded_best(82, FIRST_CHARLESTON).record, effort=EFFORT, stopper=stopper)
