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
    record = lap(30.0, None, None)
    record["exchanges"] = record["exchanges"][:1]
    return record


def logged(record: Any, result: Any = None, **members: Any) -> dict[str, Any]:
    """A line of a practice log, members of it replaced."""
    about = {"threepass_log": 1, "at": "2026-11-25T14:00:00+00:00", "client": "terminal", "card": "small"}
    how = {"seed": 11, "deal": 3, "finished": True, "record": record, "result": result}
    return {**about, **how, **members}


def played_once(at: str, facts: dict[str, Any], **members: Any) -> dict[str, Any]:
    """A line of a log: a single pass at that time of a day, with what its review kept of it."""
    rack = ["2b", "3b", "3c", "3d", "4c", "5c", "5c", "8d", "E", "W", "red", "red", "F", "J"]
    plain = {"rack": rack, "seen": [], "round": "first_right", "left": None, "given": ["2b", "4c", "8d"]}
    plain |= {"blind": 0, "seconds": 9.0, "share": 0.0, "family": None}
    record = {"exchanges": [{"seconds": 9.0}], "seen": []}
    result = {"strength_given_up": 0.0, "passes": [plain | facts]}
    return logged(record, result, at=f"2026-11-25T{at}+00:00", **members)


def losing_at_first_left() -> list[dict[str, Any]]:
    """Lines of a log: of 80 single passes those at first left lose 6 % on average, and no other anything."""
    return [
        played_once(
            f"10:{index // 60:02}:{index % 60:02}",
            {"round": "first_left", "share": 0.05 + index / 4000, "family": "pies"} if index % 2 == 0 else {},
            deal=index,
        )
        for index in range(80)
    ]


def json_lines(*values: Any) -> str:
    return "".join(json.dumps(value) + "\n" for value in values)
