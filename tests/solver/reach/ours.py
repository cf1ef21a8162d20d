"""The solver's reach for a demand written as the references write it."""

from fractions import Fraction

import numpy as np

from solver.arrivals import Arrivals, Coming
from solver.reach.counting import Outlook
from solver.reach.evaluate import Demands, reach_of
from solver.reach.states import missing
from solver.situation import CardTables, Situation
from tests.solver.reach.exact_reference import Kind

ACCURACY = Fraction(1, 10**12)


def agrees(ours: float, exact: Fraction) -> bool:
    """Return whether a value is the exact one, but for rounding."""
    return abs(Fraction(ours) - exact) <= ACCURACY * exact


def demand_of(situation: Situation, tables: CardTables, row: int) -> tuple[list[Kind], int, int, bool]:
    """Return a target of a card as the references write it: kinds, jokers, jokers held, concealed."""
    columns = (situation.unseen[:35], situation.held, tables.plain[row], tables.grouped[row])
    kinds: list[Kind] = [tuple(map(int, kind)) for kind in zip(*columns, strict=True)]
    outlook = situation.outlook
    return kinds, outlook.jokers, outlook.jokers_held, bool(tables.concealed[row])


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
    return reach_under(kinds, jokers, jokers_held, Arrivals(*arrivals), concealed)


def reach_under(kinds: list[Kind], jokers: int, jokers_held: int, coming: Coming, concealed: bool) -> float:
    """Return what the solver says for any arrivals; the other arguments are those of the references."""
    unseen, kept, plain, grouped = columns(kinds)
    lack = missing(plain[None], grouped[None], kept)
    outlook = Outlook(int(unseen.sum()), jokers, jokers_held, coming)
    return float(reach_of(Demands.of(lack, np.array([concealed]), unseen), outlook, unseen)[0])
