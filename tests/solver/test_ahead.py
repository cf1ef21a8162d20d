"""What comes in, one way a Charleston may go on, and the vote against counting out every order."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import combinations
from math import sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import solver.ahead as module
from patterns.faults import FaultyInputError
from patterns.rack import Rack
from patterns.tiles import DRAGONS, KINDS, WINDS, Tile
from solver.advice import advise
from solver.ahead import (
    FEWEST_SAMPLES,
    SHARES,
    Path,
    TileSort,
    Verdict,
    Vote,
    incoming,
    sort_of,
    vote,
    weights_of,
)
from solver.arrivals import Arrivals, after_the_exchanges, default_arrivals
from solver.deals import deal
from solver.limits import AtLeast, Choice, Limits, hand_weights
from solver.model import StoppedError, Stopper
from solver.passes import PassTable, score
from solver.rounds import FIRST_CHARLESTON, ORDER, SECOND_CHARLESTON, Round
from solver.situation import Question, Situation, tables_of
from tests.solver.played import all_but, count_out, own, rack, shares, tiles, tiny

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


def test_every_natural_has_a_sort_and_each_sort_a_share_in_each_round() -> None:
    naturals = [tile for tile in KINDS if tile is not Tile.JOKER]
    assert Counter(map(sort_of, naturals)) == Counter(
        {**dict.fromkeys(list(TileSort)[:9], 3), TileSort.WIND: 4, TileSort.DRAGON: 3, TileSort.FLOWER: 1}
    )
    with pytest.raises(ValueError, match="never passed"):
        sort_of(Tile.JOKER)
    for round_ in Round:
        assert len(SHARES[round_]) == len(TileSort) and all(0 <= share <= 1000 for share in SHARES[round_])
        weights = dict(zip(naturals, weights_of(round_), strict=True))
        assert min(weights.values()) > 0
        assert len({weights[wind] for wind in WINDS}) == len({weights[each] for each in DRAGONS}) == 1
        assert weights[Tile.B9] == weights[Tile.D9] == SHARES[round_][8]


def test_what_comes_in_are_unseen_naturals_and_in_the_end_all_of_them() -> None:
    seen = tiles("F F 1b 2b J")
    for sample in range(20):
        came = incoming(asked(seen=seen).situation, [(Round.FIRST_RIGHT, 3), (Round.COURTESY, 2)], 1, sample)
        assert [len(each) for each in came] == [3, 2]
        assert Tile.JOKER not in (*came[0], *came[1])
        assert not Counter((*came[0], *came[1])) - (SET - Counter(HELD.tiles) - Counter(seen))
    pool = Counter(tiles("F F E 1b 1b"))
    last = Situation(HELD, all_but(HELD, pool), Arrivals(0, 0, 0))
    first, rest = incoming(last, [(Round.FIRST_RIGHT, 3), (Round.FIRST_ACROSS, 2)], 4, 0)
    assert Counter((*first, *rest)) == pool


def test_seed_and_sample_name_the_luck() -> None:
    situation, three = asked(seen=tiles("1b 2b")).situation, [(Round.FIRST_RIGHT, 3)]
    came = incoming(situation, three, 5, 3)
    assert incoming(replace(situation, arrivals=Arrivals(1, 2, 3)), three, 5, 3) == came
    assert incoming(situation, three * 2, 5, 3)[0] == came[0]
    assert incoming(situation, three, 5, 4) != came != incoming(situation, three, 6, 3)


def test_tiles_come_as_readily_as_others_pass_them() -> None:
    """Within four standard errors of what the shares say, 3,000 samples."""
    pool = Counter(tiles("E E 1b 9d"))
    situation = Situation(HELD, all_but(HELD, pool), Arrivals(0, 0, 0))
    weights = dict(zip(KINDS, weights_of(Round.FIRST_RIGHT), strict=False))
    total = sum(count * weights[tile] for tile, count in pool.items())
    found = Counter(incoming(situation, [(Round.FIRST_RIGHT, 1)], 2, sample)[0][0] for sample in range(3000))
    for tile, count in pool.items():
        chance = count * weights[tile] / total
        assert abs(found[tile] / 3000 - chance) < 4 * sqrt(chance * (1 - chance) / 3000)


def test_limits_of_one_pass_do_not_hold_on_the_way() -> None:
    hands = Limits.of(only=Choice(families=("one",)), weights=(("Wide", 2.0),))
    on_pass = Limits.of(stay=tiles("J"), no_pairs=True, keep_hands=AtLeast(1, 0.1)).on_pass
    limits = replace(hands, on_pass=on_pass)
    assert Path.start(asked(limits=limits)).question.limits == hands


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
    path = Path.start(asked(held, seen=seen))
    unseen = SET - Counter(held.tiles) - Counter(seen)
    heaps = incoming(path.question.situation, [(round_, 3) for round_ in rounds], seed, 0)
    for came, round_ in zip(heaps, rounds, strict=True):
        before = path.question
        path = path.play([round_], [came], Stopper())
        after = path.question
        unseen -= Counter(came)
        passed = after.seen[len(before.seen) :]
        assert len(passed) == 3 and Tile.JOKER not in (*passed, *came)
        assert Counter(after.rack.tiles) + Counter(passed) == Counter(before.rack.tiles) + Counter(came)
        assert [int(count) for count in after.situation.unseen] == [unseen[tile] for tile in KINDS]


@pytest.mark.parametrize("give", [1, 2, 3])
def test_as_many_go_as_come_in_and_they_are_the_best_ones(give: int) -> None:
    held = deal(12, give).rack
    path = Path.start(Question(own(), held, Round.FIRST_LEFT))
    worth = count_out(Question(own(), held, Round.COURTESY, give))
    given_now = path.best_pass(Round.COURTESY, give, Stopper())
    assert len(given_now) == give
    assert worth[given_now] == pytest.approx(max(worth.values()), abs=1e-12)
    assert path.best_pass(Round.COURTESY, 0, Stopper()) == ()


@pytest.mark.parametrize("arrivals", [None, Arrivals(8, 11, 6)])
def test_each_pass_counts_on_the_exchanges_of_its_own_round_and_the_end_on_none(
    monkeypatch: pytest.MonkeyPatch, arrivals: Arrivals | None
) -> None:
    questions: list[Question] = []
    real = PassTable.of_question
    monkeypatch.setattr(
        PassTable, "of_question", lambda question: questions.append(question) or real(question)
    )
    limits = Limits.of(weights=(("Wide", 3.0),), without=Choice(hands=("Odd",)))
    start = asked(round_=Round.SECOND_LEFT, arrivals=arrivals, limits=limits)
    heaps = incoming(start.situation, [(round_, 3) for round_ in SECOND_CHARLESTON], 0, 0)
    end = Path.start(start).play(SECOND_CHARLESTON, heaps, Stopper())
    then = Arrivals(0, 11, 6) if arrivals else after_the_exchanges()
    assert [(question.round, question.situation.arrivals) for question in questions] == [
        (round_, then.after(default_arrivals(round_, 3).charleston)) for round_ in SECOND_CHARLESTON
    ]
    situation = Situation(end.question.rack, end.question.seen, then)
    weights = hand_weights(tiny(), limits)
    assert end.value() == score(situation, tables_of(tiny()), weights, ()).expected > 0


def test_stated_arrivals_need_not_leave_room_for_the_defaults() -> None:
    """Twelve tiles unseen, three exchanges: fewer than the defaults ask for."""
    pool = Counter(tiles("F F F F E E S N N 1b 1b 1b"))
    held = rack("F F N N E E red red S S W W 2b")
    seen = all_but(held, pool)
    with pytest.raises(FaultyInputError):
        asked(held, seen=seen)
    start = asked(held, seen=seen, arrivals=Arrivals(9, 2, 1))
    exchanges = [*((round_, 3) for round_ in FIRST_CHARLESTON), (Round.COURTESY, 3)]
    *heaps, rest = incoming(start.situation, exchanges, 0, 0)
    end = Path.start(start).play(FIRST_CHARLESTON, heaps, Stopper()).question
    assert Counter(rest) == SET - Counter(end.rack.tiles) - Counter(end.seen)


def test_a_vote_is_judged_by_paired_samples() -> None:
    """Differences 1, 3, 2: mean 2, sample deviation 1, so the error of the mean is 1 / sqrt(3)."""
    found = Vote.of(np.array([[3.0, 4.0], [3.0, 6.0], [6.0, 8.0]]))
    assert (found.stop, found.go_on, found.difference, found.samples) == (4.0, 6.0, 2.0, 3)
    assert found.error == pytest.approx(1 / sqrt(3))
    assert found.verdict is Verdict.GO_ON
    assert replace(found, go_on=4.0 + 2.99 * found.error).verdict is Verdict.UNCLEAR
    assert replace(found, go_on=4.0 - 3.01 * found.error).verdict is Verdict.STOP
    assert Vote(1.0, 1.0, 0.0, 9).verdict is Verdict.UNCLEAR


def test_sampling_ends_when_the_answer_is_clear_and_not_before_enough_samples() -> None:
    asked_for: list[int] = []

    def draw(values: Iterator[float]) -> Vote:
        return module.sample_until_clear(lambda sample: asked_for.append(sample) or (1.0, next(values)), 30)

    assert draw(iter([2.0] * 30)).samples == FEWEST_SAMPLES
    assert asked_for == list(range(FEWEST_SAMPLES))
    late = draw(iter([4.0, -2.0] * 4 + [4.0] * 22))
    assert FEWEST_SAMPLES < late.samples < 30 and late.verdict is Verdict.GO_ON
    assert draw(iter([0.0, 2.0] * 15)).samples == 30


@cache
def best_pass(held: Rack, seen: tuple[Tile, ...], round_: Round, give: int, coming: int) -> tuple[Tile, ...]:
    return advise(Question(tiny(), held, round_, give, Arrivals(coming, 1, 0), seen, alternatives=0)).passed


def end_value(held: Rack, seen: tuple[Tile, ...], steps: list[tuple[Round, int, tuple[Tile, ...]]]) -> float:
    """Play the steps (round, tiles still to come, what comes in now) and return what is reached."""
    for round_, coming, came in steps:
        if came:
            passed = best_pass(held, seen, round_, len(came), coming)
            held = Rack((*(Counter(held.tiles) - Counter(passed)).elements(), *came))
            seen = (*seen, *passed)
    situation = Situation(held, seen, Arrivals(0, 1, 0))
    return score(situation, tables_of(tiny()), hand_weights(tiny(), Limits()), ()).expected


def counted(held: Rack, pool: Counter[Tile], courtesy: int) -> tuple[float, float]:
    """Return the exact means of stopping and of going on, every order of the tiles counted out."""
    seen = all_but(held, pool + Counter(tiles("J J")))
    stop = go_on = 0.0
    for chance, (*second, last) in shares(pool, (3, 3, 3, courtesy)):
        courtesy_step = (Round.COURTESY, courtesy, last)
        stop += chance * end_value(held, seen, [courtesy_step])
        steps = [*zip(SECOND_CHARLESTON, (9, 6, 3), second, strict=True), courtesy_step]
        go_on += chance * end_value(held, seen, steps)
    return stop, go_on


def ask(held: Rack, pool: Counter[Tile], courtesy: int, samples: int) -> Vote:
    seen = all_but(held, pool + Counter(tiles("J J")))
    question = asked(held, Round.SECOND_LEFT, seen=seen, arrivals=Arrivals(0, 1, 0))
    return vote(question, courtesy=courtesy, samples=samples, seed=3)


def test_every_order_once_gives_the_exact_values(monkeypatch: pytest.MonkeyPatch) -> None:
    orders = [
        tuple(Tile.EAST if place in places else Tile.FLOWER for place in range(10))
        for places in combinations(range(10), 2)
    ]
    monkeypatch.setattr(
        module,
        "incoming",
        lambda _, __, seed, sample: [*zip(*[iter(orders[sample][:9])] * 3, strict=True), ()],
    )
    monkeypatch.setattr(module, "FEWEST_SAMPLES", len(orders))
    result = ask(FAR, FAR_POOL, 0, len(orders))
    stop, go_on = counted(FAR, FAR_POOL, 0)
    assert go_on > 0.1 and result.samples == 45
    assert (result.stop, result.go_on) == pytest.approx((stop, go_on), abs=1e-12)


@pytest.mark.parametrize(
    ("held", "pool", "courtesy", "verdict"),
    [(FAR, FAR_LARGER_POOL, 1, Verdict.GO_ON), (NEAR, NEAR_POOL, 0, Verdict.STOP)],
)
def test_the_sampled_values_are_the_exact_ones_within_the_error(
    monkeypatch: pytest.MonkeyPatch, held: Rack, pool: Counter[Tile], courtesy: int, verdict: Verdict
) -> None:
    """With every unseen tile equally likely to come, as it is counted out."""
    monkeypatch.setattr(module, "weights_of", lambda round_: (1,) * 35)
    monkeypatch.setattr(module, "FEWEST_SAMPLES", 50)
    result = ask(held, pool, courtesy, 50)
    stop, go_on = counted(held, pool, courtesy)
    assert 0 < result.error < 0.1
    assert abs(result.difference - (go_on - stop)) <= 4 * result.error
    assert result.verdict is verdict
    if not courtesy:
        assert result.stop == pytest.approx(stop, abs=1e-12)  # nothing comes in: no luck in it


def test_both_ways_end_with_the_same_courtesy_pass(monkeypatch: pytest.MonkeyPatch) -> None:
    came: list[tuple[Tile, ...]] = []
    real = Path.exchange

    def exchange(self: Path, passed: tuple[Tile, ...], incoming: tuple[Tile, ...]) -> Path:
        assert len(passed) == len(incoming)
        came.append(incoming)
        return real(self, passed, incoming)

    monkeypatch.setattr(Path, "exchange", exchange)
    vote(asked(deal(4, 0, 13).rack, Round.SECOND_LEFT), courtesy=2, samples=3, seed=1)
    samples = [came[at : at + 5] for at in range(0, len(came), 5)]
    assert [len(each) for each in samples] == [5, 5, 5]
    for *second, by_courtesy, stopped in samples:
        assert [len(each) for each in second] == [3, 3, 3] and by_courtesy == stopped and len(stopped) == 2
    assert len(set(map(tuple, samples))) == 3


def test_draws_claims_and_hands_that_count_do_and_stated_exchanges_do_not() -> None:
    question = asked(deal(6, 0, 13).rack, Round.SECOND_LEFT)

    def found(**parts: object) -> Vote:
        return vote(replace(question, **parts), courtesy=1, samples=3, seed=1)  # type: ignore[arg-type]

    defaults = found()
    assert found(arrivals=after_the_exchanges().after(9)) == defaults
    assert found(arrivals=Arrivals(0, 5, 5)).stop < found(arrivals=Arrivals(0, 30, 5)).stop
    assert 0 < found(limits=Limits.of(only=Choice(families=("one",)))).stop < defaults.stop


def test_a_stop_ends_it() -> None:
    stopper = Stopper()
    stopper.stop()
    with pytest.raises(StoppedError):
        vote(asked(FAR, Round.SECOND_LEFT), courtesy=1, samples=5, seed=1, stopper=stopper)
