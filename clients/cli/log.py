"""The practice log: JSON lines, one a lap or single pass, that belong to the player."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from api.service import MAX_EXCHANGES, Figures
from clients.cli.output import Exit, Failure, complain, said_by
from clients.cli.service import Answer, Service, encoded

LOG_MARK, LOG_VERSION = "threepass_log", 1
# No lap lasts more than a day, loses more rack strength or ends farther away; and logs have years.
_MOST_SECONDS, _MOST_STRENGTH, _MOST_AWAY = 86_400, 1e6, 14
_YEARS = range(2000, 2200)
# As many passes as the service takes at a time.
_MOST_PASSES = 2_000


def now() -> str:
    """Return the date and time as the log writes it."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def default_log() -> Path:
    """Return the log's place when none is named: in the folder where this person's programs keep data."""
    from platformdirs import user_data_path

    return user_data_path("threepass", appauthor=False) / "practice.jsonl"


@dataclass(frozen=True)
class LoggedLap:
    """A lap, or a single pass, as its line of the log has it.

    It began `at` a time in the zone of this machine. Its graded passes are as the service takes them; there
    are none where the log has not kept them.
    """

    entry: Mapping[str, Any]
    at: datetime
    card: str
    single: bool
    figures: Figures
    passes: tuple[Mapping[str, Any], ...]


def read_log(named: str | None, called: str = "the log") -> tuple[list[LoggedLap], int]:
    """Return the laps of a log in the order in which they began, and how many lines are none of it.

    Without a name it is the default one, which may not be there yet; by what it is called lines are told. A
    file that cannot be read is a `Failure`.
    """
    path = default_log() if named is None else Path(named)
    laps, skipped = [], 0
    try:
        if named is None and not path.exists():
            return [], 0
        with path.open("rb") as file:
            for number, line in enumerate(file, 1):
                if line.strip():
                    try:
                        laps.append(lap_of(line))
                    except ValueError as error:
                        complain(f"line {number} of {called} left out: {error}")
                        skipped += 1
    except (OSError, ValueError) as error:
        raise Failure(Exit.USAGE, f"{path}: {said_by(error)}") from None
    return sorted(laps, key=lambda lap: lap.at), skipped


def lap_of(line: bytes) -> LoggedLap:
    """Return the lap on a line; ValueError with why it is none."""
    try:
        entry = json.loads(line)
    except (ValueError, RecursionError):
        raise ValueError("not whole JSON (torn?)") from None
    if not isinstance(entry, dict) or LOG_MARK not in entry:
        raise ValueError("not a lap of this log")
    if entry[LOG_MARK] != LOG_VERSION:
        raise ValueError(f"written for version {entry[LOG_MARK]!r:.20} of this log")
    try:
        return _lap(entry)
    except (LookupError, TypeError, ValueError, AttributeError, OverflowError, OSError) as error:
        raise ValueError(f"not a lap of this log ({error!s:.60})") from None


def _lap(entry: Mapping[str, Any]) -> LoggedLap:
    record, result = entry["record"], entry["result"]
    exchanges = record["exchanges"]
    right = isinstance(exchanges, list) and isinstance(entry["finished"], bool)
    right = right and len(exchanges) <= MAX_EXCHANGES
    if not right or not (result is None or isinstance(result, dict)):
        raise TypeError("a part of another kind")
    times = [_number(exchange["seconds"], _MOST_SECONDS) for exchange in exchanges]
    timed = [seconds for seconds in times if seconds is not None]
    graded: Mapping[str, Any] = result or {}
    figures = Figures(
        passes=len(exchanges),
        seconds=math.fsum(timed) if timed and len(timed) == len(times) else None,
        # Older laps have `given_up` alone, which was of another objective: they count as not graded.
        given_up=_number(graded.get("strength_given_up"), _MOST_STRENGTH),
        best=None,
        within_resolution=_number(graded.get("share_within_resolution"), 1),
        tiles_away=_number(graded.get("tiles_away"), _MOST_AWAY),
    )
    at = datetime.fromisoformat(entry["at"]).astimezone()
    if at.year not in _YEARS:
        raise ValueError("a year out of range")
    about = {"at": at.isoformat(), "card": str(entry["card"])}
    passes = tuple({**each, **about} for each in graded.get("passes", ()))
    single = record.get("seen") is not None
    return LoggedLap(entry, at, about["card"], single, figures, passes)


def _number(value: object, most: float) -> float | None:
    """Return a number of 0 or more, or None for none."""
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError("a number is not one")
    if not 0 <= float(value) <= most:
        raise ValueError("a number out of range")
    return float(value)


Due = list[tuple[LoggedLap, Mapping[str, Any]]]


def told_of(laps: Iterable[LoggedLap], more_than: float, service: Service) -> tuple[Answer, Due]:
    """Return what the service tells of the latest graded passes, and those to play again with their laps."""
    passes = [(lap, each) for lap in laps for each in lap.passes][-_MOST_PASSES:]
    asked = {"passes": [each for _, each in passes], "now": now(), "more_than": more_than}
    told = service.ask("/v1/progress", encoded(asked)).answer()
    return told, [passes[each["index"]] for each in told["due"]]
