"""Limit: keep at least so many families with a hand at a reach."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from ortools.sat.python import cp_model

from solver.limits import AtLeast
from solver.terms.limit import Outcome
from solver.terms.variables import Variables


@dataclass(frozen=True)
class KeepFamilies:
    """After the pass, at least ``wanted.count`` families have a hand with a reach of ``wanted.reach``."""

    wanted: AtLeast

    @property
    def place(self) -> tuple[str | int, ...]:
        """Where it stands."""
        return ("keep_families",)

    @property
    def says(self) -> str:
        """The limit in words."""
        return (
            f"at least {self.wanted.count} families with a hand of reach {self.wanted.reach:g} must be kept"
        )

    def add(self, variables: Variables) -> None:
        """Let a family count when one of its hands is chosen at an option that is enough."""
        options, families = variables.options, variables.families
        safe = {families[hand] for hand in (options.floor >= self.wanted.enough).nonzero()[0]}
        enough: dict[str, list[cp_model.IntVar]] = defaultdict(list)
        for index in (options.reach >= self.wanted.enough).nonzero()[0]:
            family = families[options.hand[index]]
            if family not in safe:
                enough[family].append(variables.chosen[index])
        kept = []
        for chosen in enough.values():
            counts = variables.model.new_bool_var("")
            variables.model.add_bool_or([*chosen, counts.Not()])
            kept.append(counts)
        if len(safe) < self.wanted.count:
            needed = self.wanted.count - len(safe)
            variables.model.add(sum(kept, start=variables.model.new_constant(0)) >= needed)

    def holds(self, outcome: Outcome) -> bool:
        """Count families."""
        enough = (outcome.reach >= self.wanted.enough).nonzero()[0]
        return len({outcome.families[hand] for hand in enough}) >= self.wanted.count
