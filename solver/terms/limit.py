"""What every limit is: a constraint of the model and a plain check of the same thing."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from patterns.tiles import Tile
from solver.terms.variables import Variables


@dataclass(frozen=True, eq=False)
class Outcome:
    """A pass and what it leaves.

    Attributes:
        passed: Tiles that go.
        held: Tiles of the rack before the pass.
        reach: (H,) reach of each hand afterwards; 0 for hands that do not count.
        families: Family of each hand.
    """

    passed: Counter[Tile]
    held: Counter[Tile]
    reach: NDArray[np.float64]
    families: tuple[str, ...]


class Limit(Protocol):
    """One limit on a pass."""

    @property
    def place(self) -> tuple[str | int, ...]:
        """Where in the request's limits it stands."""

    @property
    def says(self) -> str:
        """The limit in words."""

    def add(self, variables: Variables) -> None:
        """Constrain the model."""

    def holds(self, outcome: Outcome) -> bool:
        """Return whether an outcome keeps the limit; knows no CP-SAT."""
