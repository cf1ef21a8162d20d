"""What comes in, one way a Charleston may go on, and the vote against counting out every order."""

from collections import Counter
from dataclasses import replace
from functools import cache
from itertools import combinations
from math import sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import solver.ahead as module
from patterns.rack import Rack
from patterns.stopping import End, StoppedError
from patterns.tiles import KINDS, Tile
from solver.advice import advise
from solver.ahead import (
    ERROR,
    Verdict,
    Vote,
    Worth,
    best_pass,
    going_on,
    incoming,
    mean_between,
    played,
    sample_until_clear,
    verdict_of,
    vote,
    weights_of,
    worth_of,
)
from solver.arrivals import Arrivals, default_arrivals
from solver.deals import deal
from solver.limits import AtLeast, Choice, Limits
from solver.rounds import ORDER, SECOND_CHARLESTON, Round
from solver.situation import Question, Situation
from tests.solver.played import FIT, all_but, count_out, own, rack, shares, small, tiles, tiny

SET = Counter({tile: tile.copies for tile in KINDS})
HELD = rack("F F F N N N E E red red S W W J")
# Far from any hand but for the flowers that are all to come: going on must be better.
FAR = rack("N N N E red red S S W J J J J")
FAR_POOL = Counter({Tile.FLOWER: 8, Tile.EAST: 2})
FAR_LARGER_POOL = Counter({Tile.FLOWER: 7, Tile.EAST: 2, Tile.B1: 3})
# One tile short: going on must break it up.
NEAR = rack("F F F F N N N W W W S S S")
NEAR_POOL = Counter(tiles("F F F F S E E E E red"))


def asked(held: Rack = HELD, round_: Round = Round.FIRST_RIGHT, **parts: object) -> Question:
    return Question(tiny(), held, round_, **parts)  # type: ignore[arg-type]


def test_what_comes_in_are_unseen_naturals_and_in_the_end_all_of_them() -> None:
    seen = tiles("F F 1b 2b J")
    for sample in range(20):
        came = incoming(asked(seen=seen).situation, [(Round.FIRST_RIGHT, 3), (Round.COURTESY, 2)], 1, sample)
        assert [len(each) for each in came] == [3, 2]
        assert Tile.JOKER not in (*came[0], *came[1])
        assert not Counter((*came[0], *came[1])) - (SET - Counter(HELD.tiles) - Counter(seen))
    pool = Counter(tiles("F F E 1b 1b"))
    last = Situation(HELD, all_but(HELD, pool), Arrivals.of(0, 0, 0))
    first, rest = incoming(last, [(Round.FIRST_RIGHT, 3), (Round.FIRST_ACROSS, 2)], 4, 0)
    assert Counter((*first, *rest)) == pool


def test_seed_and_sample_name_the_luck() -> None:
    situation, three = asked(seen=tiles("1b 2b")).situation, [(Round.FIRST_RIGHT, 3)]
    came = incoming(situation, three, 5, 3)
    assert incoming(replace(situation, arrivals=Arrivals.of(1, 2, 3)), three, 5, 3) == came
    assert incoming(situation, three * 2, 5, 3)[0] == came[0]
    assert incoming(situation, three, 5, 4) != came != incoming(situation, three, 6, 3)


def test_tiles_come_as_readily_as_others_pass_them() -> None:
    """Within four standard errors of what the shares say, 3,000 samples."""
    pool = Counter(tiles("E E 1b 9d"))
    situation = Situation(HELD, all_but(HELD, pool), Arrivals.of(0, 0, 0))
    passed = dict(zip(KINDS, weights_of(Round.FIRST_RIGHT), strict=False))
    # Of what one holds others have use, too.
    weights = {tile: passed[tile] * (module.HELD if tile in HELD.tiles else 1) for tile in pool}
    total = sum(count * weights[tile] for tile, count in pool.items())
    found = Counter(incoming(situation, [(Round.FIRST_RIGHT, 1)], 2, sample)[0][0] for sample in range(3000))
    for tile, count in pool.items():
        chance = count * weights[tile] / total
        assert abs(found[tile] / 3000 - chance) < 4 * sqrt(chance * (1 - chance) / 3000)


def test_limits_of_one_pass_do_not_hold_on_the_way() -> None:
    hands = Limits.of(only=Choice(families=("one",)), weights=(("Wide", 2.0),))
    on_pass = Limits.of(stay=tiles("J"), no_pairs=True, keep_hands=AtLeast(1, 0.1)).on_pass
    limits = replace(hands, on_pass=on_pass)
    assert going_on(asked(limits=limits)).limits == hands


@st.composite
def _journeys(draw: st.DrawFn) -> tuple[Rack, tuple[Tile, ...], list[Round], int]:
    dealt = deal(draw(st.integers(0, 10_000)), 0, draw(st.sampled_from([13, 14])))
    seen = dealt.heap[-draw(st.integers(1, 30)) :]
    rounds = draw(st.lists(st.sampled_from(ORDER), min_size=1, max_size=4))
    return dealt.rack, seen, rounds, draw(st.integers(0, 99))


@given(_journeys())
@settings(max_examples=20, deadline=None)
def test_tiles_are_conserved_in_every_exchange_and_no_joker_moves(
    journey: tuple[Rack, tuple[Tile, ...], list[Round], int],
) -> None:
    held, seen, rounds, seed = journey
    after = going_on(asked(held, seen=seen))
    unseen = SET - Counter(held.tiles) - Counter(seen)
    heaps = incoming(after.situation, [(round_, 3) for round_ in rounds], seed, 0)
    for came, round_ in zip(heaps, rounds, strict=True):
        before, after = after, played(after, [round_], [came])
        unseen -= Counter(came)
        passed = after.seen[len(before.seen) :]
        assert len(passed) == 3 and Tile.JOKER not in (*passed, *came)
        assert Counter(after.rack.tiles) + Counter(passed) == Counter(before.rack.tiles) + Counter(came)
        assert [int(count) for count in after.situation.unseen] == [unseen[tile] for tile in KINDS]


@pytest.mark.parametrize("give", [1, 2, 3])
def test_as_many_go_as_come_in_and_they_are_the_best_ones(give: int) -> None:
    held = deal(12, give).rack
    way = going_on(Question(own(), held, Round.FIRST_LEFT))
    worth = count_out(Question(own(), held, Round.COURTESY, give))
    given_now = best_pass(way, Round.COURTESY, give)
    assert len(given_now) == give
    assert worth[given_now] == pytest.approx(max(worth.values()), abs=1e-12)
    assert best_pass(way, Round.COURTESY, 0) == ()


@pytest.mark.parametrize("courtesy", [0, 2])
def test_a_rack_is_worth_what_the_advice_at_the_courtesy_pass_says(courtesy: int) -> None:
    held = deal(12, 0, 13).rack
    told = advise(Question(small(), held, Round.COURTESY, courtesy, alternatives=0, fit=FIT))
    found = worth_of(going_on(Question(small(), held, Round.SECOND_LEFT, fit=FIT)), courtesy)
    assert found == Worth(told.strength, told.hands.some_hand, True)


def test_a_fair_coin_is_hardly_ever_called() -> None:
    """Exact, with a look after each of 100 flips: shares of all courses by heads so far, none called yet."""
    courses, called = np.array([1.0]), 0.0
    for flips in range(1, 101):
        courses = (np.append(courses, 0.0) + np.append(0.0, courses)) / 2
        for heads in range(flips + 1):
            coins = np.repeat([1.0, 0.0], [heads, flips - heads])
            if verdict_of(coins, 0.5) is not Verdict.UNCLEAR:
                called += courses[heads]
                courses[heads] = 0.0
    assert courses.sum() == pytest.approx(1 - called)
    assert ERROR / 2 < called <= ERROR


@pytest.mark.parametrize(("most", "skew"), [(0.1, 0.1), (0.9, 0.1), (0.5, 1.0), (0.9, 8.0)])
def test_what_is_no_better_is_hardly_ever_called(most: float, skew: float) -> None:
    """Few high chances, as of racks, or many: 250 votes, a look after each of 50 samples."""
    rng = np.random.default_rng(5)
    chances = most * rng.beta(skew, 1, (250, 50))
    looks = range(2, 51)
    called = [
        any(verdict_of(row[:look], most * skew / (skew + 1)) is not Verdict.UNCLEAR for look in looks)
        for row in chances
    ]
    assert np.mean(called) <= ERROR


def test_what_is_better_is_called_and_the_bounds_say_so() -> None:
    rng = np.random.default_rng(6)
    for stop, verdict in ((0.1, Verdict.GO_ON), (0.35, Verdict.UNCLEAR), (0.9, Verdict.STOP)):
        chances = rng.beta(2, 4, 40)
        low, high = mean_between(chances)
        assert 0 < low < chances.mean() < high < 1
        assert verdict_of(chances, stop) is verdict
        assert (low > stop, high < stop) == (verdict is Verdict.GO_ON, verdict is Verdict.STOP)
        assert verdict_of(chances, low - 1e-9) is Verdict.GO_ON
        assert verdict_of(chances, low + 1e-9) is verdict_of(chances, high - 1e-9) is Verdict.UNCLEAR
        assert verdict_of(chances, high + 1e-9) is Verdict.STOP


@pytest.mark.parametrize(
    ("chance", "stop", "verdict"),
    [
        (0.0, 0.0, Verdict.UNCLEAR),
        (1.0, 1.0, Verdict.UNCLEAR),
        (0.1, 0.0, Verdict.GO_ON),
        (0.9, 1.0, Verdict.STOP),
    ],
)
def test_at_the_ends_of_the_scale(chance: float, stop: float, verdict: Verdict) -> None:
    assert verdict_of(np.full(5, chance), stop) is verdict


def test_sampling_ends_when_the_answer_is_clear_or_the_samples_end() -> None:
    asked_for: list[int] = []

    def draw(sample: int) -> Worth:
        asked_for.append(sample)
        return Worth(2.0 + sample % 2, 0.6 + 0.2 * (sample % 2), True)

    early = sample_until_clear(Worth(1.0, 0.1, True), draw, 30)
    assert asked_for == list(range(early.samples)) and 2 < early.samples < 10
    assert early.verdict is Verdict.GO_ON and early.low > 0.1
    late = sample_until_clear(Worth(1.0, 0.7, True), draw, 30)
    assert (late.samples, late.verdict) == (30, Verdict.UNCLEAR)
    assert (late.stop, late.go_on) == (Worth(1.0, 0.7, True), Worth(2.5, pytest.approx(0.7), True))
    assert (late.difference, late.error) == (1.5, pytest.approx(0.5 / sqrt(29)))
    assert late.low < 0.7 < late.high


@pytest.mark.parametrize(
    ("found", "end", "stopped"), [(5, End.TIME, False), (1, End.TIME, True), (5, End.GONE, True)]
)
def test_when_its_time_is_over_the_samples_found_are_the_answer(found: int, end: End, stopped: bool) -> None:
    def draw(sample: int) -> Worth:
        if sample == found:
            raise StoppedError(end)
        return Worth(2.0 + sample % 2, 0.6 + 0.2 * (sample % 2), True)

    if stopped:
        with pytest.raises(StoppedError):
            sample_until_clear(Worth(1.0, 0.7, True), draw, 30)
    else:
        made = sample_until_clear(Worth(1.0, 0.7, True), draw, 30)
        assert (made.samples, made.verdict) == (found, Verdict.UNCLEAR)


@cache
def advised_pass(
    held: Rack, seen: tuple[Tile, ...], round_: Round, give: int, coming: int
) -> tuple[Tile, ...]:
    return advise(
        Question(tiny(), held, round_, give, Arrivals.of(coming, 1, 0), seen, alternatives=0)
    ).passed


@cache
def at_courtesy(held: Rack, seen: tuple[Tile, ...], courtesy: int) -> float:
    """Return what the best courtesy pass leaves, by every pass of the rack."""
    question = Question(tiny(), held, Round.COURTESY, courtesy, Arrivals.of(courtesy, 1, 0), seen)
    return max(count_out(question).values())


def counted(held: Rack, pool: Counter[Tile], courtesy: int) -> tuple[float, float]:
    """Return what stopping is worth and the exact mean of going on, every order of the tiles counted out."""
    start = all_but(held, pool + Counter(tiles("J J")))
    go_on = 0.0
    for chance, heaps in shares(pool, (3, 3, 3)):
        now, seen = held, start
        for round_, coming, came in zip(SECOND_CHARLESTON, (9, 6, 3), heaps, strict=True):
            passed = advised_pass(now, seen, round_, 3, coming)
            now = Rack((*(Counter(now.tiles) - Counter(passed)).elements(), *came))
            seen = (*seen, *passed)
        go_on += chance * at_courtesy(now, seen, courtesy)
    return at_courtesy(held, start, courtesy), go_on


def ask(held: Rack, pool: Counter[Tile], courtesy: int, samples: int) -> Vote:
    seen = all_but(held, pool + Counter(tiles("J J")))
    question = asked(held, Round.SECOND_LEFT, seen=seen, arrivals=Arrivals.of(0, 1, 0))
    return vote(question, courtesy=courtesy, samples=samples, seed=3)


def test_every_order_once_gives_the_exact_values(monkeypatch: pytest.MonkeyPatch) -> None:
    orders = [
        tuple(Tile.EAST if place in places else Tile.FLOWER for place in range(10))
        for places in combinations(range(10), 2)
    ]
    monkeypatch.setattr(
        module, "incoming", lambda _, __, seed, sample: [*zip(*[iter(orders[sample][:9])] * 3, strict=True)]
    )
    monkeypatch.setattr(module, "verdict_of", lambda *_: Verdict.UNCLEAR)
    result = ask(FAR, FAR_POOL, 0, len(orders))
    stop, go_on = counted(FAR, FAR_POOL, 0)
    assert go_on > 0.1 and result.samples == 45
    assert (result.stop.value, result.go_on.value) == pytest.approx((stop, go_on), abs=1e-12)


@pytest.mark.parametrize(
    ("held", "pool", "courtesy", "verdict"),
    [(FAR, FAR_LARGER_POOL, 1, Verdict.GO_ON), (NEAR, NEAR_POOL, 0, Verdict.STOP)],
)
def test_the_sampled_values_are_the_exact_ones_within_the_error(
    monkeypatch: pytest.MonkeyPatch, held: Rack, pool: Counter[Tile], courtesy: int, verdict: Verdict
) -> None:
    """With every unseen tile equally likely to come, as it is counted out."""
    monkeypatch.setattr(module, "weights_of", lambda round_: (1,) * 35)
    monkeypatch.setattr(module, "HELD", 1)
    assert ask(held, pool, courtesy, 50).verdict is verdict
    monkeypatch.setattr(module, "verdict_of", lambda *_: Verdict.UNCLEAR)
    result = ask(held, pool, courtesy, 50)
    stop, go_on = counted(held, pool, courtesy)
    assert 0 < result.error < 0.1
    assert abs(result.difference - (go_on - stop)) <= 4 * result.error
    assert result.stop.value == pytest.approx(stop, abs=1e-12)  # nothing comes in: no luck in it


def test_draws_claims_and_hands_that_count_do_and_stated_exchanges_do_not() -> None:
    question = asked(deal(6, 0, 13).rack, Round.SECOND_LEFT)

    def found(**parts: object) -> Vote:
        return vote(replace(question, **parts), courtesy=1, samples=3, seed=1)  # type: ignore[arg-type]

    defaults = found(arrivals=default_arrivals(None))
    assert found(arrivals=default_arrivals(None).after(9)) == defaults
    assert found(arrivals=Arrivals.of(0, 5, 5)).stop.value < found(arrivals=Arrivals.of(0, 30, 5)).stop.value
    assert 0 < found(limits=Limits.of(only=Choice(families=("one",)))).stop.value < defaults.stop.value
