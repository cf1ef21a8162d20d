"""A question: what should I pass?"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from functools import cached_property

from patterns.card import Card
from patterns.faults import Fault, FaultyInputError
from patterns.rack import Rack, count_faults
from patterns.tiles import Tile
from solver.arrivals import Coming, arrivals_alone, default_arrivals, drill_arrivals
from solver.limits import Limits
from solver.rounds import DRILL_RACK, MAX_EXCHANGES, MAX_THEN_DRAWS, PASS_SIZE, RULES, Drill, Round
from solver.situation import Situation

MAX_ALTERNATIVES = 10
MAX_EFFORT = 20.0
DEFAULT_EFFORT = 5.0


@dataclass(frozen=True)
class Question:
    """One rack, one round, one card.

    Attributes:
        give: Own tiles to give (0-3), or None for whatever number is best of those the round allows.
        arrivals: Tiles to come, or None for the defaults of the round.
        seen: Tiles seen outside the rack: own earlier passes, shown groups, discards.
        alternatives: Runner-up passes wanted, 0-10.
        drill: The drill this is a pass of, or None at a table.
        effort: Cap on the solver's work, in CP-SAT's deterministic time units, above 0, at most 20.

    Raises:
        FaultyInputError: on construction, every part that the rules do not allow, each with its place.
    """

    card: Card
    rack: Rack
    round: Round
    give: int | None = None
    arrivals: Coming | None = None
    seen: tuple[Tile, ...] = ()
    limits: Limits = field(default_factory=Limits)
    alternatives: int = 2
    effort: float = DEFAULT_EFFORT
    drill: Drill | None = None

    def __post_init__(self) -> None:
        faults = [*self._give_faults(), *self._tile_faults(), *self._range_faults()]
        if not faults:
            faults = self._arrival_faults()
        if faults:
            raise FaultyInputError(faults)

    @property
    def tiles_given(self) -> int:
        """Own tiles that go in this pass, 0-3; three when the number is left open."""
        return PASS_SIZE if self.give is None else self.give

    @cached_property
    def situation(self) -> Situation:
        """The rack, the tiles seen and the arrivals that hold."""
        if self.arrivals is not None:
            arrivals = self.arrivals
        elif self.drill is not None:
            arrivals = drill_arrivals(self.drill, self.tiles_given)
        else:
            arrivals = default_arrivals(self.round, self.tiles_given)
        return Situation(self.rack, self.seen, arrivals, jokers_in_wall=self.drill is None)

    @property
    def arrivals_alone(self) -> Coming | None:
        """What comes to a player who goes for one hand only; None in a drill or when arrivals are named."""
        if self.arrivals is not None or self.drill is not None:
            return None
        return arrivals_alone(self.round, self.tiles_given)

    @property
    def numbers_to_compare(self) -> tuple[int, ...]:
        """Numbers of own tiles to compare, ascending: the one named, or all that the round allows."""
        return RULES[self.round].allowed if self.give is None else (self.give,)

    def _give_faults(self) -> list[Fault]:
        allowed = RULES[self.round].allowed
        if self.tiles_given in allowed:
            return []
        may = f"{allowed[0]} to {allowed[-1]}" if len(allowed) > 1 else f"exactly {allowed[0]}"
        return [Fault("give", ("give",), f"{self.tiles_given} tiles: {self.round.value} gives {may}")]

    def _tile_faults(self) -> list[Fault]:
        faults = [fault.inside("seen") for fault in count_faults((*self.rack.tiles, *self.seen))]
        held = Counter(self.rack.tiles)
        for part, tiles in (("stay", self.limits.stay), ("go", self.limits.go)):
            for tile, count in Counter(tiles).items():
                if count > held[tile]:
                    detail = f"{count} of {tile.word} ({tile.value}): the rack has {held[tile]}"
                    faults.append(Fault("not-held", ("limits", part), detail))
        if Tile.JOKER in self.limits.go:
            faults.append(Fault("joker", ("limits", "go"), "a joker may never be passed"))
        return faults

    def _range_faults(self) -> list[Fault]:
        faults = []
        if not 0 <= self.alternatives <= MAX_ALTERNATIVES:
            faults.append(Fault("range", ("alternatives",), f"0 to {MAX_ALTERNATIVES}"))
        if not 0 < self.effort <= MAX_EFFORT:
            faults.append(Fault("range", ("effort",), f"above 0, at most {MAX_EFFORT:g}"))
        if self.drill is not None:
            if len(self.rack.tiles) != DRILL_RACK:
                faults.append(Fault("wrong-count", ("rack",), f"a drill has {DRILL_RACK} tiles"))
            if not 1 <= self.drill.exchanges_left <= MAX_EXCHANGES:
                faults.append(Fault("range", ("drill", "exchanges_left"), f"1 to {MAX_EXCHANGES}"))
            if not 0 <= self.drill.then_draws <= MAX_THEN_DRAWS:
                faults.append(Fault("range", ("drill", "then_draws"), f"0 to {MAX_THEN_DRAWS}"))
        return faults

    def _arrival_faults(self) -> list[Fault]:
        arrivals = self.situation.arrivals
        if min(min(each.charleston, each.draws, each.claims) for _, each in arrivals.parts) < 0:
            return [Fault("range", ("arrivals",), "every number of arrivals is 0 or more")]
        naturals = self.situation.outlook.naturals
        if arrivals.most > naturals:
            detail = f"{arrivals.most} tiles to come: only {naturals} that are not jokers are unseen"
            return [Fault("range", ("arrivals",), detail)]
        return []
