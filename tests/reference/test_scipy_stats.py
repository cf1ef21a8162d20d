"""Source: hypergeom, nhypergeom and multivariate_hypergeom of scipy.stats, run beside ours; and its manual.

In the manual's examples two kinds fill the urn, so that exactly r of the first is all that one needs to say.
"""

import random
from itertools import product

import numpy as np
import pytest
from scipy.stats import hypergeom, multivariate_hypergeom, nhypergeom, t, ttest_1samp, ttest_ind

from solver.arrivals import Arrivals
from solver.coach.insights import FEWEST, mean_interval, t_quantile, welch_interval
from solver.reach.counting import Outlook, joker_chances
from tests.reference.urns import at_least, exactly


@pytest.mark.parametrize("seed", range(40))
def test_one_kind(seed: int) -> None:
    rnd = random.Random(seed)
    pool = rnd.randint(20, 152)
    copies, drawn = rnd.randint(1, 12), rnd.randint(1, 19)
    for wanted in range(1, copies + 1):
        theirs = hypergeom(pool, copies, drawn).sf(wanted - 1)
        assert at_least(pool, [(wanted, copies)], drawn) == pytest.approx(theirs, rel=1e-9, abs=1e-15)


@pytest.mark.parametrize("seed", range(40))
def test_when_the_last_one_wanted_comes(seed: int) -> None:
    """An order statistic of draws without replacement: how many others come before the r-th wanted one."""
    rnd = random.Random(seed)
    pool, copies = rnd.randint(20, 152), rnd.randint(1, 12)
    wanted = rnd.randint(1, copies)
    others = nhypergeom(pool, pool - copies, wanted)
    for drawn in range(wanted, 20):
        theirs = others.cdf(drawn - wanted)
        assert at_least(pool, [(wanted, copies)], drawn) == pytest.approx(theirs, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("seed", range(40))
def test_several_kinds(seed: int) -> None:
    """Their probabilities of exact counts, summed over all counts that are enough."""
    rnd = random.Random(seed)
    kinds = rnd.randint(2, 4)
    pool = rnd.randint(40, 140)
    copies = [rnd.randint(1, 4) for _ in range(kinds)]
    wanted = [rnd.randint(1, count) for count in copies]
    drawn = rnd.randint(sum(wanted), 35)
    counts = product(*(range(r, count + 1) for r, count in zip(wanted, copies, strict=True)))
    enough = np.array([[*x, drawn - sum(x)] for x in counts if sum(x) <= drawn])
    theirs = multivariate_hypergeom([*copies, pool - sum(copies)], drawn).pmf(enough).sum()
    ours = at_least(pool, zip(wanted, copies, strict=True), drawn)
    assert ours == pytest.approx(theirs, rel=1e-9, abs=1e-15)


@pytest.mark.parametrize("seed", range(20))
def test_jokers_among_the_draws(seed: int) -> None:
    rnd = random.Random(seed)
    naturals, jokers = rnd.randint(40, 144), rnd.randint(0, 8)
    charleston, draws = rnd.randint(0, 9), rnd.randint(0, 30)
    ours = joker_chances(Outlook(naturals, jokers, 0, Arrivals.of(charleston, draws, 0)), draws)
    theirs = hypergeom(naturals - charleston + jokers, jokers, draws).pmf(np.arange(9))
    assert ours == pytest.approx(theirs, rel=1e-9, abs=1e-15)


@pytest.mark.parametrize(
    ("pool", "wanted", "copies", "drawn", "printed"),
    [(30, 8, 10, 12, 0.0025207176631464523), (15, 3, 10, 4, 0.4395604395604395)],
)
def test_the_examples_of_the_manual(pool: int, wanted: int, copies: int, drawn: int, printed: float) -> None:
    assert exactly(pool, wanted, copies, drawn) == pytest.approx(printed, abs=1e-14)


@pytest.mark.parametrize("seed", range(20))
def test_intervals_of_losses_and_of_their_difference(seed: int) -> None:
    rng = np.random.default_rng(seed)
    one, other = (rng.exponential(0.05, size=rng.integers(FEWEST, 200)) for _ in range(2))
    level = float(rng.uniform(0.8, 0.999))
    theirs = ttest_ind(one, other, equal_var=False).confidence_interval(level)
    assert welch_interval(one, other, level) == pytest.approx(tuple(theirs), rel=1e-4, abs=1e-6)
    low, high = ttest_1samp(one, 0).confidence_interval(level)
    assert mean_interval(one, level) == pytest.approx((max(0, low), high), rel=1e-4, abs=1e-6)


@pytest.mark.parametrize("freedom", [FEWEST - 1, 25.5, 60, 1_000])
def test_quantiles_of_student(freedom: float) -> None:
    for chance in (0.6, 0.9, 0.975, 0.999, 0.9995):
        assert t_quantile(chance, freedom) == pytest.approx(t(freedom).ppf(chance), abs=5e-5)
