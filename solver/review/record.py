"""A recorded Charleston and whether it can have happened."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from patterns.card import Card
from patterns.faults import Fault, FaultyInputError
from patterns.rack import Rack
from patterns.tiles import Tile
from solver.arrivals import Arrivals
from solver.drill import DRILL_RACK
from solver.limits import Limits
from solver.rounds import FIRST_CHARLESTON, PASS_SIZE, RULES, SECOND_CHARLESTON, Round
from solver.situation import still_elsewhere

MAX_EXCHANGES = 12
MAX_SECONDS = 86_400.0


@dataclass(frozen=True)
class Exchange:
    """One exchange as it was played.

    Attributes:
        round: Which round it was.
        given: Own tiles given, 0-3.
        received: Tiles that came into the rack, as many as were given.
        blind: Incoming tiles passed on unseen, 0-3.
        seconds: Time it took to choose, or None when it was not taken.
    """

    round: Round
    given: tuple[Tile, ...]
    received: tuple[Tile, ...]
    blind: int = 0
    seconds: float | None = None


@dataclass(frozen=True)
class Moment:
    """What was known when an exchange was played: the rack, and own tiles passed and not come back."""

    rack: Rack
    seen: tuple[Tile, ...]


@dataclass(frozen=True)
class Record:
    """A rack and the exchanges played with it.

    Attributes:
        drill: Whether it was a drill with a heap; its exchanges may then be of any rounds, 1 to 12.
        arrivals: Draws and claims to assume, or None for the defaults; its ``charleston`` is ignored.
        limits: Which hands count and how much.

    Raises:
        FaultyInputError: on construction, everything that cannot have happened, each with its place.
    """

    card: Card
    rack: Rack
    exchanges: tuple[Exchange, ...]
    drill: bool = False
    arrivals: Arrivals | None = None
    limits: Limits = field(default_factory=Limits)

    def __post_init__(self) -> None:
        faults = self._order_faults()
        rack = Counter(self.rack.tiles)
        for index, exchange in enumerate(self.exchanges):
            faults += [fault.inside("exchanges", index) for fault in _exchange_faults(exchange, rack)]
            rack = rack - Counter(exchange.given)
            rack.update(exchange.received)
        if faults:
            raise FaultyInputError(faults)

    def moments(self) -> list[Moment]:
        """Return what was known before each exchange and, last, at the end."""
        moments = [Moment(self.rack, ())]
        passed: list[Tile] = []
        rack = Counter(self.rack.tiles)
        for exchange in self.exchanges:
            rack.subtract(exchange.given)
            rack.update(exchange.received)
            passed += exchange.given
            moments.append(Moment(Rack(tuple((+rack).elements())), still_elsewhere(passed, rack)))
        return moments

    def _order_faults(self) -> list[Fault]:
        if not 1 <= len(self.exchanges) <= MAX_EXCHANGES:
            return [Fault("range", ("exchanges",), f"{len(self.exchanges)} exchanges: 1 to {MAX_EXCHANGES}")]
        if self.drill:
            if len(self.rack.tiles) != DRILL_RACK:
                return [Fault("wrong-count", ("rack",), f"a drill has {DRILL_RACK} tiles")]
            return []
        faults = []
        before: Round | None = None
        for index, exchange in enumerate(self.exchanges):
            may = _may_follow(before)
            if exchange.round not in may:
                words = " or ".join(round_.value for round_ in may) or "nothing"
                after = "at the start" if before is None else f"after {before.value}"
                detail = f"{exchange.round.value} {after}: only {words} can be played"
                faults.append(Fault("round-order", ("exchanges", index, "round"), detail))
            before = exchange.round
        return faults


def _may_follow(before: Round | None) -> tuple[Round, ...]:
    if before is None:
        return (FIRST_CHARLESTON[0],)
    if before is FIRST_CHARLESTON[-1]:
        return (SECOND_CHARLESTON[0], Round.COURTESY)
    if before is SECOND_CHARLESTON[-1]:
        return (Round.COURTESY,)
    for charleston in (FIRST_CHARLESTON, SECOND_CHARLESTON):
        if before in charleston:
            return (charleston[charleston.index(before) + 1],)
    return ()


def _exchange_faults(exchange: Exchange, rack: Counter[Tile]) -> list[Fault]:
    rule = RULES[exchange.round]
    faults = []
    if exchange.blind and not rule.blind:
        faults.append(Fault("blind", ("blind",), f"{exchange.round.value} allows no blind pass"))
    elif not 0 <= exchange.blind <= PASS_SIZE:
        faults.append(Fault("range", ("blind",), f"{exchange.blind} blind: 0 to {PASS_SIZE}"))
    wanted = len(exchange.given) + exchange.blind
    if exchange.round is Round.COURTESY:
        if len(exchange.given) > PASS_SIZE:
            faults.append(
                Fault("wrong-count", ("given",), f"{len(exchange.given)} tiles: at most {PASS_SIZE}")
            )
    elif wanted != PASS_SIZE:
        faults.append(
            Fault(
                "wrong-count",
                ("given",),
                f"{len(exchange.given)} given and {exchange.blind} blind: not {PASS_SIZE}",
            )
        )
    if len(exchange.received) != len(exchange.given):
        detail = f"{len(exchange.received)} received for {len(exchange.given)} given"
        faults.append(Fault("wrong-count", ("received",), detail))
    faults += _tile_faults(exchange, rack)
    if exchange.seconds is not None and not 0 <= exchange.seconds <= MAX_SECONDS:
        faults.append(Fault("range", ("seconds",), f"0 to {MAX_SECONDS:g} seconds"))
    return faults


def _tile_faults(exchange: Exchange, rack: Counter[Tile]) -> list[Fault]:
    faults = [
        Fault("joker", (part,), "a joker may never be passed")
        for part, tiles in (("given", exchange.given), ("received", exchange.received))
        if Tile.JOKER in tiles
    ]
    given = Counter(exchange.given)
    for tile, count in sorted(given.items(), key=lambda item: item[0].position):
        if tile is not Tile.JOKER and count > rack[tile]:
            detail = f"{count} of {tile.word} ({tile.value}) given: the rack had {rack[tile]}"
            faults.append(Fault("not-held", ("given",), detail))
    after = rack - given
    after.update(exchange.received)
    for tile, count in sorted(after.items(), key=lambda item: item[0].position):
        if count > tile.copies and tile in exchange.received:
            detail = f"{count} of {tile.word} ({tile.value}) after this: the set holds {tile.copies}"
            faults.append(Fault("too-many-copies", ("received",), detail))
    return faults
