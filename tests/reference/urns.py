"""Reach of a demand on an artificial pool: P(at least so many of each wanted kind among the arrivals)."""

from collections.abc import Iterable
from itertools import combinations

from solver.arrivals import Arrivals
from solver.reach.counting import MAX_JOKERS, Outlook, kernel, own_polynomial, shared_polynomial


def at_least(pool: int, needs: Iterable[tuple[int, int]], drawn: int) -> float:
    """Return P(at least r of each kind) when ``drawn`` of ``pool`` come; needs are (r, copies) a kind."""
    states = tuple(need for need in needs if need[0] > 0)
    own = sum(copies for _, copies in states)
    chances = kernel(Outlook(pool, 0, 0, Arrivals.of(0, drawn, 0)), own, 0, ())
    return float(own_polynomial(states) @ chances[:, 0, 0])


def exactly(pool: int, need: int, copies: int, drawn: int) -> float:
    return at_least(pool, [(need, copies)], drawn) - at_least(pool, [(need + 1, copies)], drawn)


def at_least_with_jokers(
    pool: int, jokers: int, plain: Iterable[tuple[int, int]], groups: Iterable[tuple[int, int]], drawn: int
) -> float:
    """Return P(demand is met) when jokers, beside the ``pool`` naturals, may stand in the groups only."""
    own, shared = tuple(plain), tuple(groups)
    sizes = [sum(copies for _, copies in states) for states in (own, shared)]
    chances = kernel(Outlook(pool, jokers, 0, Arrivals.of(0, drawn, 0)), *sizes, ())
    ways = shared_polynomial(shared).reshape(1, sizes[1] + 1, MAX_JOKERS + 1)
    return float((own_polynomial(own)[:, None, None] * ways * chances).sum())


def at_least_one(pool: int, demands: list[dict[object, int]], copies: dict[object, int], drawn: int) -> float:
    """Return P(at least one of several demands, each a number of each kind), by inclusion and exclusion."""
    total = 0.0
    for size in range(1, len(demands) + 1):
        for together in combinations(demands, size):
            needs: dict[object, int] = {}
            for demand in together:
                for kind, wanted in demand.items():
                    needs[kind] = max(wanted, needs.get(kind, 0))
            states = [(wanted, copies[kind]) for kind, wanted in needs.items()]
            total += (-1) ** (size + 1) * at_least(pool, states, drawn)
    return total
