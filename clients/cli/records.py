"""Reading recorded Charlestons: one JSON document, or JSON Lines, or the lines of a practice log."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from clients.cli.exits import UsageFault
from clients.cli.json_text import decoded
from clients.cli.lines import encoded

MAX_FILE = 50_000_000
LOG_MARK = "threepass_log"
_NOT_JSON = object()


@dataclass(frozen=True)
class Entry:
    """One record to send.

    Attributes:
        place: Where it stood, such as ``line 3``.
        body: The request for it; what is no record goes to the service as it is, to be refused there.
    """

    place: str
    body: bytes


@dataclass(frozen=True)
class Written:
    """What a file holds.

    Attributes:
        entries: The records in order.
        whole: The request for all of them at once, or None for lines and for a bare record.
        lines: Whether each stood on a line of its own.
        skipped: Places of laps of a practice log that were not finished.
    """

    entries: tuple[Entry, ...]
    whole: bytes | None
    lines: bool
    skipped: tuple[str, ...] = ()


def content_of(file: str) -> bytes:
    """Return what is in a file, or on stdin for ``-``.

    Raises:
        UsageFault: no such file, or over 50 MB.
    """
    try:
        if file == "-":
            content = _read(sys.stdin.buffer)
        else:
            with Path(file).open("rb") as opened:
                content = _read(opened)
    except (OSError, ValueError) as error:
        raise UsageFault([f"{file}: {getattr(error, 'strerror', None) or error}"]) from None
    if len(content) > MAX_FILE:
        raise UsageFault([f"{file}: over {MAX_FILE:,} bytes"])
    return content


def written_in(content: bytes, card: str | Mapping[str, Any] | None, effort: float | None) -> Written:
    """Read records.

    A content that is JSON is one document: a record, or an object with ``records``. Otherwise it is JSON
    Lines if any line of it is a JSON object, and else a document that the service is left to refuse.

    Args:
        content: UTF-8 text.
        card: The card for records that name none, or None to leave it to the service.
        effort: The cap on work for each pass, or None.
    """
    fill = _Fill(card, effort)
    read = _json(content)
    if isinstance(read, dict) and LOG_MARK not in read:
        return _document(read, fill)
    lines = [(f"line {number}", line) for number, line in enumerate(content.split(b"\n"), 1) if line.strip()]
    if any(line.startswith(b"{") and isinstance(_json(line), dict) for _, line in lines):
        return _lines(lines, fill)
    if not lines:
        return Written((), None, lines=True)
    return Written((Entry("", content),), None, lines=False)


@dataclass(frozen=True)
class _Fill:
    card: str | Mapping[str, Any] | None
    effort: float | None

    def body(self, records: list[Any], more: Mapping[str, Any]) -> bytes:
        filled = [self._record(record) for record in records]
        effort = {} if self.effort is None else {"effort": self.effort}
        return encoded({**effort, **more, "records": filled})

    def _record(self, record: Any) -> Any:
        if self.card is None or not isinstance(record, dict) or "card" in record:
            return record
        return {**record, "card": self.card}


def _document(read: dict[str, Any], fill: _Fill) -> Written:
    records = read.get("records")
    if "records" not in read:
        return Written((Entry("", fill.body([read], {})),), None, lines=False)
    if not isinstance(records, list) or not records:
        return Written((Entry("", encoded(read)),), None, lines=False)
    more = {name: value for name, value in read.items() if name != "records"}
    entries = [
        Entry(f"record {number}", fill.body([record], more)) for number, record in enumerate(records, 1)
    ]
    return Written(tuple(entries), fill.body(records, more), lines=False)


def _lines(lines: list[tuple[str, bytes]], fill: _Fill) -> Written:
    entries, skipped = [], []
    for place, line in lines:
        read = _json(line)
        if isinstance(read, dict) and LOG_MARK in read:
            if read.get("finished", True) is not True:
                skipped.append(place)
                continue
            read = read.get("record")
        # What is not JSON is left for the service to say so.
        body = line.strip() if read is _NOT_JSON else fill.body([read], {})
        entries.append(Entry(place, body))
    return Written(tuple(entries), None, lines=True, skipped=tuple(skipped))


def _read(stream: BinaryIO) -> bytes:
    return stream.read(MAX_FILE + 1)


def _json(content: bytes) -> Any:
    try:
        return decoded(content)
    except ValueError:
        return _NOT_JSON
