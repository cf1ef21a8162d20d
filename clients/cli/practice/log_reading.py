"""Reading the practice log line by line; a line that is torn or foreign is reported and left out."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, BinaryIO

from clients.cli.practice.lap import LOG_VERSION

# A lap with a card of one's own carries its text, 1 MB at most.
_MAX_LINE = 4_000_000


@dataclass(frozen=True)
class LoggedLap:
    """A lap as the log has it.

    Attributes:
        at: When it began, in the time zone of this machine.
        passes: How many passes it has.
        seconds: Time of all passes, or None when one was not timed.
        given_up: Expected hands given up over the lap, or None when it was not graded.
        share: Share of its passes as good as the best, 0 to 1, or None.
        away: Tiles away from the nearest hand at the end, or None.
    """

    at: datetime
    card: str
    finished: bool
    passes: int
    seconds: float | None
    given_up: float | None
    share: float | None
    away: float | None


def read_log(path: Path, skipped: Callable[[int, str], None]) -> list[LoggedLap]:
    """Return the laps of a log in the order in which they began.

    Args:
        path: The log.
        skipped: Told the number of each line that is left out, from 1, and why.

    Raises:
        OSError, ValueError: the file cannot be read.
    """
    laps = []
    with path.open("rb") as file:
        for number, line in enumerate(_lines(file), 1):
            if not line.strip():
                continue
            try:
                laps.append(lap_of(line))
            except _ForeignLineError as error:
                skipped(number, str(error))
    return sorted(laps, key=lambda lap: lap.at)


class _ForeignLineError(Exception):
    """A line that is no lap, and why."""


def lap_of(line: bytes) -> LoggedLap:
    """Return the lap on a line.

    Raises:
        _ForeignLineError: it is none.
    """
    if len(line) >= _MAX_LINE:
        raise _ForeignLineError("too long")
    try:
        entry = json.loads(line)
    except (ValueError, RecursionError):
        raise _ForeignLineError("not whole JSON (torn?)") from None
    if not isinstance(entry, dict) or "threepass_log" not in entry:
        raise _ForeignLineError("not a lap of this log")
    if entry["threepass_log"] != LOG_VERSION:
        raise _ForeignLineError(f"written for version {entry['threepass_log']!r:.20} of this log")
    try:
        return _lap(entry)
    except (LookupError, TypeError, ValueError, AttributeError, OverflowError, OSError) as error:
        raise _ForeignLineError(f"not a lap of this log ({error!s:.60})") from None


def _lap(entry: Mapping[str, Any]) -> LoggedLap:
    exchanges, result = entry["record"]["exchanges"], entry["result"]
    right = (
        isinstance(exchanges, list)
        and isinstance(entry["finished"], bool)
        and (result is None or isinstance(result, dict))
    )
    if not right:
        raise TypeError("a part of another kind")
    times = [_number(exchange["seconds"]) for exchange in exchanges]
    timed = [seconds for seconds in times if seconds is not None]
    graded: Mapping[str, Any] = {} if result is None else result
    return LoggedLap(
        at=datetime.fromisoformat(entry["at"]).astimezone(),
        card=str(entry["card"]),
        finished=entry["finished"],
        passes=len(exchanges),
        seconds=math.fsum(timed) if timed and len(timed) == len(times) else None,
        given_up=_number(graded.get("given_up")),
        share=_number(graded.get("share_within_resolution")),
        away=_number(graded.get("tiles_away")),
    )


def _number(value: object) -> float | None:
    """Return a number of 0 or more, or None for none."""
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError("a number is not one")
    if not 0 <= float(value) < math.inf:
        raise ValueError("a number out of range")
    return float(value)


def _lines(file: BinaryIO) -> Iterator[bytes]:
    while line := file.readline(_MAX_LINE):
        rest = line
        while not rest.endswith(b"\n") and (rest := file.readline(_MAX_LINE)):
            pass
        yield line
