"""Limit: keep at least so many hands at a reach."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from solver.limits import AtLeast
from solver.terms.limit import Outcome
from solver.terms.variables import Variables


@dataclass(frozen=True)
class KeepHands:
    """After the pass, at least ``wanted.count`` hands that count have a reach of ``wanted.reach``."""

    wanted: AtLeast

    @property
    def place(self) -> tuple[str | int, ...]:
        """Where it stands."""
        return ("keep_hands",)

    @property
    def says(self) -> str:
        """The limit in words."""
        return f"at least {self.wanted.count} hands with a reach of {self.wanted.reach:g} must be kept"

    def add(self, variables: Variables) -> None:
        """Count hands whose floor is enough, and the options that are enough for the others."""
        options = variables.options
        safe = options.floor >= self.wanted.enough
        enough = np.flatnonzero((options.reach >= self.wanted.enough) & ~safe[options.hand])
        needed = self.wanted.count - int(safe.sum())
        if needed > 0:
            chosen = [variables.chosen[index] for index in enough]
            variables.model.add(sum(chosen, start=variables.model.new_constant(0)) >= needed)

    def holds(self, outcome: Outcome) -> bool:
        """Count hands."""
        return int((outcome.reach >= self.wanted.enough).sum()) >= self.wanted.count
