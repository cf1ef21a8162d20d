"""The seven rounds of a Charleston and what each allows (common practice, no source)."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

PASS_SIZE = 3


class Round(Enum):
    """One exchange of tiles; the value is its token on the wire."""

    FIRST_RIGHT = "first_right"
    FIRST_ACROSS = "first_across"
    FIRST_LEFT = "first_left"
    SECOND_LEFT = "second_left"
    SECOND_ACROSS = "second_across"
    SECOND_RIGHT = "second_right"
    COURTESY = "courtesy"


@dataclass(frozen=True)
class Rule:
    """What a round allows.

    Attributes:
        fewest: Fewest of one's own tiles that may go (0-3); fewer than 3 means the rest goes blind, or,
            at the courtesy pass, that fewer tiles change hands.
        exchanges_to_come: Exchanges of three tiles that are sure to follow, this one included. The
            second Charleston is played only if all agree, so the first does not count on it; the
            courtesy pass depends on the other player's wish, so nothing counts on it either.
    """

    fewest: int
    exchanges_to_come: int

    @property
    def allowed(self) -> tuple[int, ...]:
        """Numbers of own tiles that may be given, ascending."""
        return tuple(range(self.fewest, PASS_SIZE + 1))


RULES: dict[Round, Rule] = {
    Round.FIRST_RIGHT: Rule(fewest=3, exchanges_to_come=3),
    Round.FIRST_ACROSS: Rule(fewest=3, exchanges_to_come=2),
    Round.FIRST_LEFT: Rule(fewest=0, exchanges_to_come=1),
    Round.SECOND_LEFT: Rule(fewest=3, exchanges_to_come=3),
    Round.SECOND_ACROSS: Rule(fewest=3, exchanges_to_come=2),
    Round.SECOND_RIGHT: Rule(fewest=0, exchanges_to_come=1),
    Round.COURTESY: Rule(fewest=0, exchanges_to_come=1),
}
