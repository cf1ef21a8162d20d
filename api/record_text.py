"""Recorded Charlestons as people write them: a line a pass, ``right: 3c 3d E > 1b 9b 3b 0:44``."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from patterns.faults import Fault
from solver.rounds import ORDER, Round

MAX_TEXT = 20_000
_EXCHANGES = tuple(round_ for round_ in ORDER if round_ is not Round.COURTESY)
_DIRECTIONS = {round_.value.rpartition("_")[2] for round_ in _EXCHANGES}
_TIME = re.compile(
    r"(?:^|\s)(?:(?P<m>\d{1,4}):(?P<s>[0-5]?\d(?:\.\d+)?)|(?P<only>\d{1,6}(?:\.\d+)?)\s*s(?:ec)?)$"
)
_BLIND = re.compile(r"(?:^|\s)\+\s*(\d+)(?:\s*blind)?(?=\s|$)")
_YES = {"yes": True, "no": False}


@dataclass
class WrittenRecord:
    """One record of a text, as it is written in JSON."""

    record: dict[str, Any] = field(default_factory=dict)
    # The line of each of its parts, from 1: ``("rack",)``, ``("exchanges", 0)``.
    lines: dict[tuple[str | int, ...], int] = field(default_factory=dict)

    def on_line(self, fault: Fault) -> Fault:
        """Return a fault of the record with the line it stands on."""
        place = fault.place
        while place and place not in self.lines:
            place = place[:-1]
        part = fault.place[-1] if len(fault.place) > len(place) and isinstance(fault.place[-1], str) else ""
        at = f"line {self.lines[place]}" if place else "the record"
        return Fault(fault.kind, (), f"{', '.join(filter(None, (at, part)))}: {fault.detail}")


def read_record_text(text: str) -> tuple[list[WrittenRecord], list[Fault]]:
    """Return the records of a text, and what cannot be read with its line.

    Each record begins with its line ``rack:``, or ``card:`` or ``drill:`` before it.
    """
    found: list[WrittenRecord] = []
    faults = []
    exchanges: list[dict[str, Any]] = []
    for number, line in enumerate(text.split("\n"), 1):
        line = line.partition("#")[0].strip()
        head, colon, rest = line.partition(":")
        name = re.sub(r"[\s_-]+", "_", head.strip().lower())
        if not line:
            continue
        if not found or (name in ("card", "rack", "drill") and (name in found[-1].record or exchanges)):
            found.append(WrittenRecord())
            exchanges = []
        record, lines = found[-1].record, found[-1].lines
        round_ = _round_named(name, exchanges)
        if not colon:
            faults.append(Fault("record-line", (), f"line {number}: a line is a name, a colon and tiles"))
        elif round_ is not None:
            lines["exchanges", len(exchanges)] = number
            exchanges.append({"round": round_.value, **_pass_of(rest.strip())})
            record["exchanges"] = exchanges
        elif name in ("card", "rack"):
            record[name] = rest.strip()
            lines[name,] = number
        elif name == "drill" and rest.strip().lower() in _YES:
            record["drill"] = _YES[rest.strip().lower()]
        else:
            detail = f"line {number}: {head.strip()!r} is none of card, rack, drill (yes or no), or a round"
            faults.append(Fault("record-line", (), detail))
    return found, faults


def _round_named(name: str, before: Iterable[Mapping[str, str]]) -> Round | None:
    """Return a round by its name; a bare direction is that of the first Charleston, then of the second."""
    if name in _DIRECTIONS:
        of_it: list[Round] = [round_ for round_ in _EXCHANGES if round_.value.endswith(f"_{name}")]
        return of_it[sum(each["round"].endswith(f"_{name}") for each in before) % len(of_it)]
    return next((round_ for round_ in ORDER if round_.value == name), None)


def _pass_of(written: str) -> dict[str, Any]:
    made: dict[str, Any] = {}
    if time := _TIME.search(written):
        written = written[: time.start()]
        made["seconds"] = float(time["only"]) if time["only"] else 60 * int(time["m"]) + float(time["s"])
    given, _, received = (part.strip() for part in written.partition(">"))
    if blind := _BLIND.search(given):
        made["blind"] = int(blind[1])
        given = (given[: blind.start()] + " " + given[blind.end() :]).strip()
    known = received.strip("? ") != ""
    return {"given": given, "received": received if known or not given else None, **made}
