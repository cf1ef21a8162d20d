"""Look-ahead against counting out every order in which the tiles may come in."""

from collections import Counter
from dataclasses import replace
from functools import cache
from itertools import combinations
from math import inf

import pytest

import solver.ahead.look_ahead as module
from patterns.rack import Rack
from patterns.tiles import Tile
from solver.advice import advise
from solver.ahead import paired
from solver.ahead.look_ahead import look_ahead, rounds_ahead
from solver.ahead.path import Path
from solver.arrivals import Arrivals, after_the_exchanges, default_arrivals
from solver.card_tables import tables_of
from solver.deals import deal
from solver.drill import Drill
from solver.limits import Limits, hand_weights
from solver.question import Question
from solver.rescore import score
from solver.rounds import Round
from solver.situation import Situation
from solver.stopping import StoppedError, Stopper
from tests.solver.ahead.luck import all_alike, in_heaps
from tests.solver.played import all_but, rack, shares, small, tiles, tiny

HELD = rack("F F F N N N E red red S S W W J")
POOL = Counter(tiles("F F F F F E E E"))
SEEN = all_but(HELD, POOL + Counter(tiles("J J")))
# Two tiles are drawn once the exchanges are over: of eight naturals six have come in, two jokers are left.
ARRIVALS = Arrivals(6, 2, 0)
QUESTION = Question(tiny(), HELD, Round.SECOND_ACROSS, arrivals=ARRIVALS, seen=SEEN)
PASSES = [tiles("S W W"), tiles("N S W"), tiles("F F E")]
ORDERS = [
    [Tile.EAST if place in places else Tile.FLOWER for place in range(8)]
    for places in combinations(range(8), 3)
]


@cache
def best_pass(held: Rack, seen: tuple[Tile, ...]) -> tuple[Tile, ...]:
    arrivals = ARRIVALS.after(default_arrivals(Round.SECOND_RIGHT, 3).charleston)
    question = Question(tiny(), held, Round.SECOND_RIGHT, 3, arrivals, seen, alternatives=0)
    return advise(question).passed


def counted_value(passed: tuple[Tile, ...]) -> float:
    """Return the exact mean of what is reached, over all ways the tiles may come in."""
    total = 0.0
    for chance, (now, then) in shares(POOL, (3, 3)):
        held = Rack((*(Counter(HELD.tiles) - Counter(passed)).elements(), *now))
        second = best_pass(held, (*SEEN, *passed))
        end = Rack((*(Counter(held.tiles) - Counter(second)).elements(), *then))
        situation = Situation(end, (*SEEN, *passed, *second), Arrivals(0, 2, 0))
        total += chance * score(situation, tables_of(tiny()), hand_weights(tiny(), Limits()), ()).expected
    return total


def count_all_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Take every order once in place of random ones."""
    monkeypatch.setattr(
        module, "incoming", lambda question, exchanges, seed, sample: in_heaps(ORDERS[sample], exchanges)
    )
    monkeypatch.setattr(paired, "clear", lambda values: False)


def test_every_order_once_gives_the_exact_mean(monkeypatch: pytest.MonkeyPatch) -> None:
    count_all_out(monkeypatch)
    result = look_ahead(QUESTION, PASSES, len(ORDERS), 0, Stopper())
    expected = [counted_value(passed) for passed in PASSES]
    assert len({round(value, 6) for value in expected}) == 3
    assert [each.comparison.mean for each in result.passes] == pytest.approx(expected, abs=1e-12)
    best = max(expected)
    assert [each.comparison.behind for each in result.passes] == pytest.approx(
        [best - value for value in expected], abs=1e-12
    )
    assert (result.samples, result.exchanges) == (56, 2)
    assert [each.passed for each in result.passes] == PASSES


def test_the_sampled_mean_is_the_exact_one_within_its_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(paired, "clear", lambda values: False)
    all_alike(monkeypatch)
    passes = PASSES[1:]  # the other is certain to succeed, so there is no luck in it
    result = look_ahead(QUESTION, passes, 60, 8, Stopper())
    expected = [counted_value(passed) for passed in passes]
    for each, value in zip(result.passes, expected, strict=True):
        exact = max(expected) - value
        assert abs(each.comparison.behind - exact) <= 4 * each.comparison.error
        assert each.comparison.error < 0.1
    assert result.passes[1].comparison.error > 0


@pytest.mark.parametrize("give", [1, 2])
def test_the_last_pass_of_fewer_tiles(monkeypatch: pytest.MonkeyPatch, give: int) -> None:
    """Nothing follows a blind pass of the first left: the mean is over what comes in now."""
    count_all_out(monkeypatch)
    question = replace(QUESTION, round=Round.FIRST_LEFT, give=give, arrivals=Arrivals(give, 2, 0))
    passes = [tiles("W S")[:give], tiles("N E")[:give]]
    result = look_ahead(question, passes, len(ORDERS), 0, Stopper())
    for passed, each in zip(passes, result.passes, strict=True):
        expected = 0.0
        for chance, (now,) in shares(POOL, (give,)):
            end = Rack((*(Counter(HELD.tiles) - Counter(passed)).elements(), *now))
            situation = Situation(end, (*SEEN, *passed), Arrivals(0, 2, 0))
            weights = hand_weights(tiny(), Limits())
            expected += chance * score(situation, tables_of(tiny()), weights, ()).expected
        assert each.comparison.mean == pytest.approx(expected, abs=1e-12)
    assert result.exchanges == 1


def test_the_first_stays_chosen_unless_clearly_beaten(monkeypatch: pytest.MonkeyPatch) -> None:
    count_all_out(monkeypatch)
    best = max(PASSES, key=counted_value)
    worst = min(PASSES, key=counted_value)
    assert look_ahead(QUESTION, [best, worst], 56, 0, Stopper()).chosen == 0
    beaten = look_ahead(QUESTION, [worst, best], 56, 0, Stopper())
    assert beaten.passes[0].comparison.behind > 3 * beaten.passes[0].comparison.error
    assert beaten.chosen == 1
    unsure = look_ahead(QUESTION, [worst, best], 1, 0, Stopper())
    assert unsure.passes[0].comparison.error == inf or unsure.passes[0].comparison.behind == 0
    assert unsure.chosen == 0


def test_all_passes_meet_the_same_luck(monkeypatch: pytest.MonkeyPatch) -> None:
    all_alike(monkeypatch)
    came: list[tuple[int, tuple[Tile, ...]]] = []
    original = Path.exchange

    def exchange(self: Path, passed: tuple[Tile, ...], incoming: list[Tile]) -> Path:
        came.append((len(self.question.seen), tuple(incoming)))
        return original(self, passed, incoming)

    monkeypatch.setattr(Path, "exchange", exchange)
    result = look_ahead(QUESTION, PASSES, 4, 3, Stopper())
    assert result.samples == 4
    per_pass = [came[2 * index : 2 * index + 2] for index in range(12)]
    for sample in range(4):
        first, second, third = per_pass[3 * sample : 3 * sample + 3]
        assert first == second == third
    assert len({tuple(row) for row in per_pass}) > 1


def test_it_stops_as_soon_as_the_order_is_clear() -> None:
    told: list[tuple[int, int]] = []
    best, worst = max(PASSES, key=counted_value), min(PASSES, key=counted_value)
    result = look_ahead(
        QUESTION, [best, worst], 200, 5, Stopper(), lambda done, most: told.append((done, most))
    )
    assert 8 <= result.samples < 200
    assert told == [(done, 200) for done in range(1, result.samples + 1)]
    assert result.passes[1].comparison.behind > 3 * result.passes[1].comparison.error


def test_the_same_seed_gives_the_same_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    all_alike(monkeypatch)

    def means(seed: int) -> list[float]:
        result = look_ahead(QUESTION, PASSES[1:], 6, seed, Stopper())
        return [each.comparison.mean for each in result.passes]

    assert means(1) == means(1)
    assert len({tuple(means(seed)) for seed in range(1, 5)}) > 1


@pytest.mark.parametrize(
    ("round_", "expected"),
    [
        (Round.FIRST_RIGHT, (Round.FIRST_ACROSS, Round.FIRST_LEFT)),
        (Round.FIRST_LEFT, ()),
        (Round.SECOND_LEFT, (Round.SECOND_ACROSS, Round.SECOND_RIGHT)),
        (Round.COURTESY, ()),
    ],
)
def test_it_looks_ahead_to_what_is_sure_to_follow(round_: Round, expected: tuple[Round, ...]) -> None:
    assert rounds_ahead(Question(tiny(), HELD, round_)) == expected


def test_a_drill_looks_ahead_to_its_exchanges_left() -> None:
    question = Question(tiny(), HELD, Round.FIRST_ACROSS, drill=Drill(4, 10))
    assert rounds_ahead(question) == (Round.FIRST_ACROSS,) * 3
    result = look_ahead(question, [tiles("S W W")], 1, 0, Stopper())
    assert result.exchanges == 4


def test_stated_exchanges_do_not_change_the_ones_played() -> None:
    question = Question(small(), deal(2, 0).rack, Round.FIRST_LEFT)
    passed = [advise(question).passed]
    few, many = (
        look_ahead(replace(question, arrivals=after_the_exchanges().after(stated)), passed, 3, 1, Stopper())
        for stated in (0, 30)
    )
    assert few == many == look_ahead(question, passed, 3, 1, Stopper())


def test_a_stop_ends_it() -> None:
    stopper = Stopper()
    with pytest.raises(StoppedError):
        look_ahead(QUESTION, PASSES, 50, 0, stopper, lambda done, most: stopper.stop())
