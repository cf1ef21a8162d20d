"""Laps to review, on the small card."""

import json
from typing import Any

RACK = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"
OTHER = "1b 1b 1b 2b 2b 3b 3b N N S S F J"


def lap(*seconds: float | None, rack: str = RACK, card: str | None = "small") -> dict[str, Any]:
    """A whole first Charleston with one blind pass, its exchanges timed as given."""
    given = [("1d E W", "3b 9c N", 0), ("9c N 6c", "5b S white", 0), ("S white", "5c 2d", 1)]
    times = seconds or (None, None, None)
    return {
        "rack": rack,
        **({} if card is None else {"card": card}),
        "exchanges": [
            {"round": round_, "given": tiles, "received": came, "blind": blind, "seconds": time}
            for round_, (tiles, came, blind), time in zip(
                ("first_right", "first_across", "first_left"), given, times, strict=True
            )
        ],
    }


def impossible() -> dict[str, Any]:
    """A lap with two faults: a joker and a tile that is not held."""
    record = lap()
    record["exchanges"][0]["given"] = "1d E J"
    record["exchanges"][1]["given"] = "9c N 9b"
    return record


def short() -> dict[str, Any]:
    """A lap of one exchange."""
    record = lap(30.0, None, None)
    record["exchanges"] = record["exchanges"][:1]
    return record


def logged(record: Any, finished: bool = True) -> dict[str, Any]:
    """A line of a practice log."""
    return {
        "threepass_log": 1,
        "at": "2026-11-25T14:00:00+00:00",
        "client": "terminal",
        "card": "small",
        "seed": 11,
        "deal": 3,
        "finished": finished,
        "record": record,
        "result": None,
    }


def json_lines(*values: Any) -> str:
    """JSON Lines."""
    return "".join(json.dumps(value) + "\n" for value in values)
