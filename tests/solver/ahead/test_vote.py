"""The vote against counting out every order in which the tiles may come in."""

from collections import Counter
from functools import cache
from itertools import combinations

import numpy as np
import pytest

import solver.ahead as module
from patterns.rack import Rack
from patterns.tiles import Tile
from solver.advice import advise
from solver.ahead import Path, Verdict, Vote, vote
from solver.arrivals import Arrivals, after_the_exchanges
from solver.card_tables import tables_of
from solver.deals import deal
from solver.limits import Choice, Limits, hand_weights
from solver.question import Question
from solver.rescore import score
from solver.rounds import Round
from solver.situation import Situation
from solver.stopping import StoppedError, Stopper
from tests.solver.ahead.luck import all_alike, in_heaps
from tests.solver.played import all_but, rack, shares, small, tiles, tiny

# Far from any hand but for the flowers that are all to come: going on must be better.
FAR = rack("N N N E red red S S W J J J J")
FAR_POOL = Counter({Tile.FLOWER: 8, Tile.EAST: 2})
FAR_LARGER_POOL = Counter({Tile.FLOWER: 7, Tile.EAST: 2, Tile.B1: 3})
# One tile short: going on must break it up.
NEAR = rack("F F F F N N N W W W S S S")
NEAR_POOL = Counter(tiles("F F F F S E E E E red"))
ROUNDS = (Round.SECOND_LEFT, Round.SECOND_ACROSS, Round.SECOND_RIGHT)


@cache
def best_pass(held: Rack, seen: tuple[Tile, ...], round_: Round, give: int, coming: int) -> tuple[Tile, ...]:
    return advise(Question(tiny(), held, round_, give, Arrivals(coming, 1, 0), seen, alternatives=0)).passed


def end_value(held: Rack, seen: tuple[Tile, ...], steps: list[tuple[Round, int, tuple[Tile, ...]]]) -> float:
    """Play the steps (round, tiles still to come, what comes in now) and return what is reached."""
    for round_, coming, incoming in steps:
        if incoming:
            passed = best_pass(held, seen, round_, len(incoming), coming)
            held = Rack((*(Counter(held.tiles) - Counter(passed)).elements(), *incoming))
            seen = (*seen, *passed)
    situation = Situation(held, seen, Arrivals(0, 1, 0))
    return score(situation, tables_of(tiny()), hand_weights(tiny(), Limits()), ()).expected


@cache
def counted(held: Rack, pool: tuple[Tile, ...], courtesy: int) -> tuple[float, float]:
    """Return the exact means of stopping and of going on."""
    seen = seen_but(held, pool)
    stop = go_on = 0.0
    for chance, (*second, last) in shares(Counter(pool), (3, 3, 3, courtesy)):
        courtesy_step = (Round.COURTESY, courtesy, last)
        stop += chance * end_value(held, seen, [courtesy_step])
        steps = [*zip(ROUNDS, (9, 6, 3), second, strict=True), courtesy_step]
        go_on += chance * end_value(held, seen, steps)
    return stop, go_on


def seen_but(held: Rack, pool: tuple[Tile, ...]) -> tuple[Tile, ...]:
    return all_but(held, Counter(pool) + Counter(tiles("J J")))


def ask(held: Rack, pool: Counter[Tile], courtesy: int, samples: int, seed: int = 3) -> Vote:
    seen = seen_but(held, tuple(pool.elements()))
    return vote(tiny(), held, seen, courtesy=courtesy, samples=samples, seed=seed, arrivals=Arrivals(0, 1, 0))


def test_every_order_once_gives_the_exact_values(monkeypatch: pytest.MonkeyPatch) -> None:
    orders = [
        [Tile.EAST if place in places else Tile.FLOWER for place in range(10)]
        for places in combinations(range(10), 2)
    ]
    monkeypatch.setattr(
        module, "incoming", lambda question, exchanges, seed, sample: in_heaps(orders[sample], exchanges)
    )
    monkeypatch.setattr(module, "clear", lambda values: False)
    result = ask(FAR, FAR_POOL, 0, len(orders))
    stop, go_on = counted(FAR, tuple(FAR_POOL.elements()), 0)
    assert go_on > 0.1
    assert result.samples == 45
    assert (result.stop, result.go_on) == pytest.approx((stop, go_on), abs=1e-12)
    assert result.difference == pytest.approx(go_on - stop, abs=1e-12)


@pytest.mark.parametrize(
    ("held", "pool", "courtesy", "verdict"),
    [
        (FAR, FAR_LARGER_POOL, 1, Verdict.GO_ON),
        (NEAR, NEAR_POOL, 0, Verdict.STOP),
    ],
)
def test_the_sampled_values_are_the_exact_ones_within_the_error(
    monkeypatch: pytest.MonkeyPatch, held: Rack, pool: Counter[Tile], courtesy: int, verdict: Verdict
) -> None:
    monkeypatch.setattr(module, "clear", lambda values: False)
    all_alike(monkeypatch)
    result = ask(held, pool, courtesy, 50)
    stop, go_on = counted(held, tuple(pool.elements()), courtesy)
    assert 0 < result.error < 0.1
    assert abs(result.difference - (go_on - stop)) <= 4 * result.error
    assert result.difference == result.go_on - result.stop
    assert (go_on > stop) is (verdict is Verdict.GO_ON)
    assert result.verdict is verdict
    if not courtesy:
        assert result.stop == pytest.approx(stop, abs=1e-12)  # nothing comes in: no luck in it


def test_both_ways_end_with_the_same_courtesy_pass(monkeypatch: pytest.MonkeyPatch) -> None:
    steps: list[tuple[Round, tuple[Tile, ...]]] = []
    original = Path.pass_best

    def pass_best(self: Path, round_: Round, incoming: list[Tile], stopper: Stopper) -> Path:
        steps.append((round_, tuple(incoming)))
        return original(self, round_, incoming, stopper)

    monkeypatch.setattr(Path, "pass_best", pass_best)
    held = deal(4, 0, 13).rack
    vote(tiny(), held, (), courtesy=2, samples=3, seed=1)
    assert len(steps) == 15
    lasts = set()
    for sample in range(3):
        stopped, *gone_on = steps[5 * sample : 5 * sample + 5]
        assert stopped == gone_on[-1]
        assert [round_ for round_, _ in (stopped, *gone_on)] == [Round.COURTESY, *ROUNDS, Round.COURTESY]
        came = [tile for _, incoming in gone_on for tile in incoming]
        assert len(came) == 11
        assert Tile.JOKER not in came
        assert max((Counter(came) + Counter(held.tiles)).values()) <= 8
        assert not Counter(came) - Counter({tile: tile.copies - held.tiles.count(tile) for tile in Tile})
        lasts.add(stopped[1])
    assert len(lasts) > 1


def test_error_and_verdict_come_from_paired_samples(monkeypatch: pytest.MonkeyPatch) -> None:
    """Values of stopping 1, 2, 3 and of going on 1.5, 2.4, 3.6: differences 0.5, 0.4, 0.6."""
    values = iter([1.0, 1.5, 2.0, 2.4, 3.0, 3.6, 1.0, 1.5, 2.0, 2.4, 3.0, 0.0])
    monkeypatch.setattr(Path, "value", lambda self: next(values))
    sure = ask(FAR, FAR_POOL, 0, 3)
    assert (sure.stop, sure.go_on, sure.samples) == (2.0, 2.5, 3)
    assert sure.difference == pytest.approx(0.5)
    assert sure.error == pytest.approx(0.1 / np.sqrt(3))
    assert sure.verdict is Verdict.GO_ON
    unsure = ask(FAR, FAR_POOL, 0, 3)
    assert unsure.difference == pytest.approx(-0.7)
    assert unsure.verdict is Verdict.UNCLEAR


def test_it_stops_when_clear_and_tells_of_each_sample(monkeypatch: pytest.MonkeyPatch) -> None:
    all_alike(monkeypatch)
    told: list[tuple[int, int]] = []
    seen = seen_but(NEAR, tuple(NEAR_POOL.elements()))
    result = vote(
        tiny(),
        NEAR,
        seen,
        courtesy=0,
        samples=50,
        seed=1,
        arrivals=Arrivals(0, 1, 0),
        progress=lambda done, most: told.append((done, most)),
    )
    assert result.verdict is Verdict.STOP
    assert 8 <= result.samples < 50
    assert told == [(done, 50) for done in range(1, result.samples + 1)]


def test_stated_arrivals_by_exchanges_do_not_matter() -> None:
    held = deal(6, 0, 13).rack

    def with_charleston(charleston: int) -> Vote:
        arrivals = after_the_exchanges().after(charleston)
        return vote(tiny(), held, (), courtesy=1, samples=3, seed=1, arrivals=arrivals)

    defaults = vote(tiny(), held, (), courtesy=1, samples=3, seed=1)
    assert with_charleston(0) == with_charleston(9) == with_charleston(5_000) == defaults


def test_draws_and_claims_that_are_stated_count() -> None:
    held = deal(6, 0, 13).rack
    few, many = (
        vote(tiny(), held, (), courtesy=0, samples=2, seed=1, arrivals=Arrivals(0, draws, 5))
        for draws in (5, 30)
    )
    assert few.stop < many.stop


def test_only_hands_that_count_are_counted() -> None:
    held = deal(8, 0, 13).rack
    limits = Limits(only=Choice(families=("giants",)))
    all_hands = vote(small(), held, (), courtesy=0, samples=2, seed=1)
    giants = vote(small(), held, (), courtesy=0, samples=2, seed=1, limits=limits)
    assert 0 < giants.stop < all_hands.stop


def test_a_stop_ends_it() -> None:
    stopper = Stopper()
    stopper.stop()
    with pytest.raises(StoppedError):
        vote(tiny(), FAR, (), courtesy=1, samples=5, seed=1, stopper=stopper)
