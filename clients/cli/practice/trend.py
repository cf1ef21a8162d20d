"""How practice goes: means lap by lap or day by day, and the first half against the second."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from itertools import groupby
from typing import Any

from clients.cli.practice.log_reading import LoggedLap
from clients.cli.times import mean

FEWEST = 4


@dataclass(frozen=True)
class Means:
    """Means over one or more laps; each is None where no lap has the figure.

    Attributes:
        date: Of the laps: a day, or a day and a time.
        laps: How many.
        seconds: Mean time of the laps that were timed.
        given_up: Mean of expected hands given up per lap.
        share: Share of all passes as good as the best, 0 to 1.
        away: Mean of tiles away at the end.
    """

    date: str
    laps: int
    seconds: float | None
    given_up: float | None
    share: float | None
    away: float | None

    @classmethod
    def of(cls, date: str, laps: Sequence[LoggedLap]) -> Means:
        """Average one or more laps."""
        # A share is of passes: a lap of more passes counts for more.
        shares = [lap.share for lap in laps for _ in range(lap.passes)]
        return cls(
            date,
            len(laps),
            _mean([lap.seconds for lap in laps]),
            _mean([lap.given_up for lap in laps]),
            _mean(shares),
            _mean([lap.away for lap in laps]),
        )


@dataclass(frozen=True)
class Trend:
    """The first half of the laps against the second; of an odd number the middle lap is in neither."""

    first: Means
    second: Means


def rows_of(laps: Sequence[LoggedLap], by_day: bool) -> list[Means]:
    """Return one row a lap, or one a day; laps are in the order of time."""
    if not by_day:
        return [Means.of(lap.at.strftime("%Y-%m-%d %H:%M"), [lap]) for lap in laps]
    days = groupby(laps, key=lambda lap: lap.at.strftime("%Y-%m-%d"))
    return [Means.of(day, list(of_day)) for day, of_day in days]


def trend_of(laps: Sequence[LoggedLap]) -> Trend | None:
    """Return the trend, or None of fewer than four laps."""
    if len(laps) < FEWEST:
        return None
    half = len(laps) // 2
    return Trend(Means.of("first half", laps[:half]), Means.of("second half", laps[-half:]))


def in_json(rows: Sequence[Means], trend: Trend | None, unfinished: int, skipped: int) -> dict[str, Any]:
    """Return what there is to tell, for programs; seconds, hands, shares 0 to 1 and tiles."""
    return {
        "rows": [asdict(row) for row in rows],
        "trend": None if trend is None else asdict(trend),
        "unfinished": unfinished,
        "skipped_lines": skipped,
    }


def _mean(values: Sequence[float | None]) -> float | None:
    there = [value for value in values if value is not None]
    return mean(there) if there else None
