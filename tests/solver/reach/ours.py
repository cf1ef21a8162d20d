"""The solver's reach for a demand written as the references write it."""

import numpy as np

from solver.arrivals import Arrivals
from solver.reach.evaluate import Demands, reach_of
from solver.reach.kernel import Outlook
from solver.reach.states import missing
from tests.solver.reach.exact_reference import Kind


def columns(kinds: list[Kind]) -> list[np.ndarray]:
    """Return (35,) arrays: unseen, kept, plain, grouped; kinds beyond those given are absent."""
    padded = [*kinds, *[(0, 0, 0, 0)] * (35 - len(kinds))]
    return [np.array(column, np.int8) for column in zip(*padded, strict=True)]


def our_reach(
    kinds: list[Kind],
    jokers: int,
    jokers_held: int,
    arrivals: tuple[int, int, int],
    concealed: bool,
) -> float:
    """Return what the solver says; the arguments are those of the references."""
    unseen, kept, plain, grouped = columns(kinds)
    lack = missing(plain[None], grouped[None], kept)
    outlook = Outlook(int(unseen.sum()), jokers, jokers_held, Arrivals(*arrivals))
    return float(reach_of(Demands.of(lack, np.array([concealed]), unseen), outlook, unseen)[0])
