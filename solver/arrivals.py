"""Arrivals: how many tiles are still expected to come, and from where."""

from __future__ import annotations

from dataclasses import dataclass

from solver.rounds import PASS_SIZE, RULES, Round


@dataclass(frozen=True)
class Arrivals:
    """Numbers of tiles still to come, each 0 or more.

    Attributes:
        charleston: Tiles from exchanges still to come; never jokers.
        draws: Tiles drawn from the wall; jokers are possible.
        claims: Discards of others that could be claimed; never jokers, and of use only to groups of
            three or more of a hand that is not concealed.
    """

    charleston: int
    draws: int
    claims: int


# First defaults, the same in every round, until simulated tables calibrate them per round. Provenance:
# a prototype's simulated tables (1,000 games, 4 seats, 48 invented hands), not yet redone here.
DEFAULT_DRAWS = 15
DEFAULT_CLAIMS = 22


def default_arrivals(round_: Round, give: int) -> Arrivals:
    """Return the arrivals assumed when a question names none.

    Args:
        round_: The round being played.
        give: Own tiles given now (0-3); as many come in now, and three at each later exchange.
    """
    later = PASS_SIZE * (RULES[round_].exchanges_to_come - 1)
    return Arrivals(charleston=give + later, draws=DEFAULT_DRAWS, claims=DEFAULT_CLAIMS)
