"""One lap: a deal, the exchanges made with it, and its line in the log."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from clients.cli.practice.rounds import PASS_SIZE, rounds_of
from clients.cli.practice.tiles import in_order
from clients.cli.practice.typed import Pass

LOG_VERSION = 1
CLIENT = "terminal"
# The longest time the service takes for a pass; over a day nobody was choosing tiles.
_LONGEST = 86_400.0


@dataclass(frozen=True)
class Deal:
    """A rack and the tiles that come in.

    Attributes:
        index: With the seed, names the deal.
        rack: 14 tokens.
        heap: Tokens without jokers, at least three for each round.
    """

    seed: int
    index: int
    rack: tuple[str, ...]
    heap: tuple[str, ...]


@dataclass
class Lap:
    """A lap under way. Every tile is on the rack, in the heap, or has left the game.

    Each exchange takes the next three tiles off the heap, blind or not, so that what comes later does not
    depend on earlier choices. With b blind the first 3 - b of the three come in and b go on unseen.

    Attributes:
        card: As the API takes it.
        card_name: The same in a word, for the log.
        at: When it began, in ISO 8601 with the offset.
    """

    deal: Deal
    card: str | dict[str, Any]
    card_name: str
    rounds: int
    at: str
    rack: list[str] = field(init=False)
    exchanges: list[dict[str, Any]] = field(init=False, default_factory=list)

    def __post_init__(self) -> None:
        self.rack = in_order(self.deal.rack)

    @property
    def finished(self) -> bool:
        """Whether all rounds are played."""
        return len(self.exchanges) == self.rounds

    @property
    def round(self) -> str:
        """The round to play next; only while the lap is not finished."""
        return rounds_of(self.rounds)[len(self.exchanges)]

    @property
    def seconds(self) -> float | None:
        """Time of the passes made, or None when one was not timed."""
        times = [exchange["seconds"] for exchange in self.exchanges]
        return None if None in times else round(sum(times), 3)

    def exchange(self, made: Pass, seconds: float) -> Sequence[str]:
        """Make a pass that the rules allow and return the tiles that came in.

        Args:
            made: The pass.
            seconds: Time it took to choose; over a day it counts as not timed.
        """
        start = PASS_SIZE * len(self.exchanges)
        received = self.deal.heap[start : start + len(made.given)]
        rack = [*self.rack]
        for token in made.given:
            rack.remove(token)
        self.rack = in_order([*rack, *received])
        self.exchanges.append(
            {
                "round": self.round,
                "given": list(made.given),
                "received": list(received),
                "blind": made.blind,
                "seconds": seconds if seconds <= _LONGEST else None,
            }
        )
        return received

    @property
    def record(self) -> dict[str, Any]:
        """The lap as ``POST /v1/reviews`` takes it."""
        return {
            "card": self.card,
            "rack": in_order(self.deal.rack),
            "exchanges": self.exchanges,
            "drill": True,
        }

    def line(self, result: Mapping[str, Any] | None) -> dict[str, Any]:
        """Return the lap's line in the log."""
        return {
            "threepass_log": LOG_VERSION,
            "at": self.at,
            "client": CLIENT,
            "card": self.card_name,
            "seed": self.deal.seed,
            "deal": self.deal.index,
            "finished": self.finished,
            "record": self.record,
            "result": result,
        }
