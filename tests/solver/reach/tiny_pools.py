"""Random demands on random pools, for tests."""

import random

from tests.solver.reach.exact_reference import Kind

Case = tuple[list[Kind], int, int, tuple[int, int, int], bool]


def tiny_case(rnd: random.Random) -> Case:
    """Return a demand on a pool of at most ten tiles, small enough to count every arrival."""
    kinds: list[Kind] = []
    for _ in range(rnd.randint(1, 3)):
        plain, grouped = rnd.choice([(1, 0), (2, 0), (0, 1), (0, 2), (0, 3), (0, 4), (1, 2), (2, 3), (1, 3)])
        kinds.append((rnd.randint(0, 3), rnd.randint(0, plain + grouped), plain, grouped))
    kinds.append((rnd.randint(0, 3), rnd.randint(0, 2), 0, 0))
    naturals = sum(unseen for unseen, *_ in kinds)
    jokers = rnd.randint(0, 2)
    charleston = rnd.randint(0, min(2, naturals))
    draws = rnd.randint(0, min(3, naturals - charleston))
    claims = rnd.randint(0, min(3, naturals - charleston - draws))
    return kinds, jokers, rnd.randint(0, 2), (charleston, draws, claims), rnd.random() < 0.25


def full_case(rnd: random.Random) -> Case:
    """Return a demand on what is left of a whole set, with arrivals of real size."""
    kinds: list[Kind] = []
    for copies in [4] * 34 + [8]:
        plain, grouped = (0, 0)
        if rnd.random() < 0.09:
            plain, grouped = rnd.choice([(1, 0), (2, 0), (0, 3), (0, 4), (0, 5), (1, 3), (2, 3), (0, 6)])
        kept = rnd.choice((0, 0, 0, 1, 2))
        kinds.append((rnd.randint(0, copies - kept), kept, plain, grouped))
    jokers = rnd.randint(0, 8)
    naturals = sum(unseen for unseen, *_ in kinds)
    charleston, draws, claims = rnd.choice((0, 3, 6, 9)), rnd.randint(0, 20), rnd.randint(0, 22)
    claims = min(claims, naturals - charleston - draws)
    return kinds, jokers, rnd.randint(0, 8 - jokers), (charleston, draws, claims), rnd.random() < 0.25
