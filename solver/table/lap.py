"""A Charleston of one person and three careful players, as far as she has played it.

She sits East, with the fourteen tiles of a deal; the others hold the next thirteen each of the same wall. All
that they do follows from the deal and from what she has passed, so nothing is kept between two of her passes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from patterns.card import Card
from patterns.faults import Fault, FaultyInputError
from patterns.rack import Rack
from patterns.stopping import check_stop
from patterns.tiles import Tile
from solver.deals import Luck
from solver.rounds import PASS_SIZE, RULES, Round, may_follow, pass_faults
from solver.table.charleston import STEP, Seat, exchange
from solver.table.game import deal_seats
from solver.table.players import Careful

# Parts this luck from that of deals and of samples, which are named by a seed and a number too.
_LUCK = 0x7AB1_E000
_ACROSS = 2


@dataclass(frozen=True)
class Passed:
    """A pass of hers: own tiles given, and how many that came in went on unseen."""

    round: Round
    given: tuple[Tile, ...]
    blind: int = 0


@dataclass(frozen=True)
class TableLap:
    """How the table stands after her passes.

    Attributes:
        received: What came in at each of her passes.
        stopped: Whether one of the others stops the second Charleston; None as long as nobody was asked.
        rounds: The rounds that may come next: none at the end; two where she may stop it herself.
        most: Most tiles that the player across wishes to exchange at the courtesy pass.
    """

    rack: Rack
    received: tuple[tuple[Tile, ...], ...]
    stopped: bool | None
    rounds: tuple[Round, ...]
    most: int


def table_lap(card: Card, seed: int, index: int, passes: Sequence[Passed]) -> TableLap:
    """Play her passes so far at the table of a deal of 14 tiles, which is named by its seed and index.

    A careful player stops the second Charleston when near targets want every tile she has, and wishes for a
    courtesy pass of as many as they do not want. Nobody but her passes blind.

    Raises:
        FaultyInputError: what the rules do not allow of a pass, at its place among the ``exchanges``.
    """
    seats, _ = deal_seats(seed, index)
    received: list[tuple[Tile, ...]] = []
    rounds = may_follow(None)
    stopped, most = None, PASS_SIZE
    for place, made in enumerate(passes):
        check_stop()
        faults = _faults(made, rounds, most, seats[0])
        if faults:
            raise FaultyInputError(faults).inside("exchanges", place)
        luck = Luck(_LUCK, seed, index, place)
        received.append(_pass(card, seats, made, luck))
        rounds = may_follow(made.round)
        if len(rounds) > 1:
            stopped = min(Careful().wish(card, seat, luck) for seat in seats[1:]) == 0
            rounds = rounds[1:] if stopped else rounds
        if Round.COURTESY in rounds:
            most = Careful().wish(card, seats[_ACROSS], luck)
    return TableLap(seats[0].rack, tuple(received), stopped, rounds, most)


def _faults(made: Passed, rounds: Sequence[Round], most: int, seat: Seat) -> list[Fault]:
    if made.round not in rounds:
        may = " or ".join(round_.words for round_ in rounds) or "nothing"
        return [Fault("round-order", ("round",), f"{made.round.words}: now comes {may}")]
    if made.round is Round.COURTESY and len(made.given) > most:
        return [Fault("give", ("given",), f"{len(made.given)} tiles: the player across wishes for {most}")]
    return pass_faults(made.round, Counter(made.given), made.blind, seat.tiles)


def _pass(card: Card, seats: list[Seat], made: Passed, luck: Luck) -> tuple[Tile, ...]:
    """Let all four pass, and return what came in."""
    step = STEP[RULES[made.round].direction]
    # At the courtesy pass only she and the player across are of interest.
    courtesy = made.round is Round.COURTESY
    sizes = [len(made.given), *((0, len(made.given), 0) if courtesy else (PASS_SIZE,) * 3)]
    given = [
        made.given,
        *(
            Careful().choose(card, seat, made.round, size, luck) if size else ()
            for seat, size in zip(seats[1:], sizes[1:], strict=True)
        ),
    ]
    exchange(seats, made.round, given, sizes)
    came = luck.shuffled(given[-step])
    unseen = came[: made.blind]
    seats[0].tiles.subtract(unseen)
    seats[step].tiles.update(unseen)
    return tuple(came[made.blind :])
