"""Racks of one's own from a file: JSON Lines, CSV with a header, or lines of text."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from typing import Any

import click

from clients.cli.exits import UsageFault
from clients.cli.json_text import decoded
from clients.cli.question import round_name

MOST_RACKS = 500


@dataclass(frozen=True)
class OwnRack:
    """One rack to send.

    Attributes:
        place: Where it stood, such as ``line 3``.
        entry: The rack, with its round if it has one, as the API takes it; what is no rack goes to the
            service as it is, to be refused there.
    """

    place: str
    entry: Any


def racks_in(content: bytes, name: str) -> list[OwnRack]:
    """Read racks.

    The content is JSON Lines if its first line begins as JSON, a table if its first line is a header with
    a column ``rack``, and otherwise a rack a line. Blank lines are skipped.

    Args:
        content: UTF-8 text.
        name: The file's name, for messages.

    Raises:
        UsageFault: not UTF-8, no rack, more than 500, or lines that are not of the form, each named.
    """
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise UsageFault([f"{name}: not UTF-8 at byte {error.start}"]) from None
    lines = [(number, line) for number, line in enumerate(text.split("\n"), 1) if line.strip()]
    if not lines:
        raise UsageFault([f"{name}: no racks"])
    first = lines[0][1].strip()
    reader = _Reader(name)
    if first[0] in '{["' and not _is_header(first):
        found = reader.json_lines(lines)
    elif _is_header(first):
        found = reader.table(text)
    else:
        found = [OwnRack(f"line {number}", line.strip()) for number, line in lines]
    reader.check()
    if not found:
        raise UsageFault([f"{name}: no racks"])
    if len(found) > MOST_RACKS:
        raise UsageFault([f"{name}: {len(found):,} racks: a sheet has at most {MOST_RACKS}"])
    return found


def _is_header(line: str) -> bool:
    return "rack" in _header(line)


def _header(line: str) -> list[str]:
    try:
        row = next(csv.reader([line]), [])
    except csv.Error:
        row = []
    return [cell.strip().lower() for cell in row]


class _Reader:
    def __init__(self, name: str) -> None:
        self._name = name
        self._faults: list[str] = []

    def check(self) -> None:
        if self._faults:
            raise UsageFault(self._faults)

    def json_lines(self, lines: list[tuple[int, str]]) -> list[OwnRack]:
        found = []
        for number, line in lines:
            try:
                entry = decoded(line.encode())
            except ValueError:
                self._fault(number, "not JSON")
                continue
            if isinstance(entry, dict) and isinstance(entry.get("round"), str):
                entry = {**entry, "round": self._round(number, entry["round"])}
            found.append(OwnRack(f"line {number}", entry))
        return found

    def table(self, text: str) -> list[OwnRack]:
        found: list[OwnRack] = []
        rows = csv.reader(text.splitlines(keepends=True))
        columns: list[str] = []
        try:
            for row in rows:
                if not any(cell.strip() for cell in row):
                    continue
                if not columns:
                    columns = [cell.strip().lower() for cell in row]
                    continue
                cells = dict(zip(columns, row, strict=False))
                entry = {"rack": cells.get("rack", "").strip()}
                if cells.get("round", "").strip():
                    entry["round"] = self._round(rows.line_num, cells["round"])
                found.append(OwnRack(f"line {rows.line_num}", entry))
        except csv.Error as error:
            self._fault(rows.line_num, str(error))
        return found

    def _round(self, number: int, written: str) -> str:
        try:
            return round_name(written)
        except click.BadParameter as error:
            self._fault(number, error.message)
            return written

    def _fault(self, number: int, says: str) -> None:
        self._faults.append(f"{self._name}: line {number}: {says}")
