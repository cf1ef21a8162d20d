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


class Direction(Enum):
    """To whom the tiles go."""

    RIGHT = "right"
    ACROSS = "across"
    LEFT = "left"


class Agreement(Enum):
    """Who must agree before a round is played."""

    NOBODY = "nobody"
    ALL = "all four players"
    OPPOSITE = "the player across, to the smaller of two wishes"


@dataclass(frozen=True)
class Rule:
    """What a round allows.

    Attributes:
        direction: To whom the tiles go.
        fewest: Fewest of one's own tiles that may go, 0 or 3.
        blind: Whether tiles of the incoming pass may go on unseen in place of one's own. With b blind a
            player gives 3 - b of her own and so receives 3 - b.
        agreement: Who must agree to play it.
    """

    direction: Direction
    fewest: int
    blind: bool
    agreement: Agreement

    @property
    def allowed(self) -> tuple[int, ...]:
        """Numbers of own tiles that may be given, ascending."""
        return tuple(range(self.fewest, PASS_SIZE + 1))


RULES: dict[Round, Rule] = {
    Round.FIRST_RIGHT: Rule(Direction.RIGHT, 3, False, Agreement.NOBODY),
    Round.FIRST_ACROSS: Rule(Direction.ACROSS, 3, False, Agreement.NOBODY),
    Round.FIRST_LEFT: Rule(Direction.LEFT, 0, True, Agreement.NOBODY),
    Round.SECOND_LEFT: Rule(Direction.LEFT, 3, False, Agreement.ALL),
    Round.SECOND_ACROSS: Rule(Direction.ACROSS, 3, False, Agreement.ALL),
    Round.SECOND_RIGHT: Rule(Direction.RIGHT, 0, True, Agreement.ALL),
    Round.COURTESY: Rule(Direction.ACROSS, 0, False, Agreement.OPPOSITE),
}

FIRST_CHARLESTON = (Round.FIRST_RIGHT, Round.FIRST_ACROSS, Round.FIRST_LEFT)
SECOND_CHARLESTON = (Round.SECOND_LEFT, Round.SECOND_ACROSS, Round.SECOND_RIGHT)
ORDER = (*FIRST_CHARLESTON, *SECOND_CHARLESTON, Round.COURTESY)


def sure_to_follow(round_: Round) -> tuple[Round, ...]:
    """Return the rounds that are sure to be played after one: the rest of its own Charleston.

    The second Charleston is played only if all agree, and the courtesy pass depends on the other player's
    wish, so neither is sure to follow anything before it.
    """
    for charleston in (FIRST_CHARLESTON, SECOND_CHARLESTON):
        if round_ in charleston:
            return charleston[charleston.index(round_) + 1 :]
    return ()
