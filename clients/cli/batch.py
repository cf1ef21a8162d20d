"""Many racks as tasks: read from a file, and their answers kept in a folder as they come."""

from __future__ import annotations

import csv
import fcntl
import hashlib
import json
import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from clients.cli.options import spelled
from clients.cli.output import NotWrittenError, UnreachableError, UsageFault, append, said_by, write_whole
from clients.cli.service import decoded, encoded, object_in

ANSWERS = "answers.jsonl"
MOST_RACKS = 500
_MARK = "threepass_answers"
_VERSION = 3
_BEGINS = f'{{"{_MARK}"'.encode()
_MADE = re.compile(r"(problems|key)(-\d+-\d+)?\.(html|pdf|csv)|sheet\.json")


@dataclass(frozen=True)
class OwnRack:
    """One rack of a person's own to send.

    Attributes:
        place: Where it stood, such as ``line 3``.
        entry: The rack, with its round if it has one, as the service takes it; what is no rack goes to the
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
    lines = [(number, line.strip()) for number, line in enumerate(text.split("\n"), 1) if line.strip()]
    first = lines[0][1] if lines else ""
    found: Iterable[tuple[int, Any]] = lines
    faults: list[str] = []
    delimiter = max(",;\t", key=first.count)
    if "rack" in _header(first, delimiter):
        found = _table(text, delimiter, faults)
    elif first[:1] in ("{", "[", '"'):
        found = _json_lines(lines, faults)
    racks = [OwnRack(f"line {number}", _spelled(entry)) for number, entry in found]
    if faults:
        raise UsageFault(f"{name}: {fault}" for fault in faults)
    if not racks:
        raise UsageFault([f"{name}: no racks"])
    if len(racks) > MOST_RACKS:
        raise UsageFault([f"{name}: {len(racks):,} racks: a sheet has at most {MOST_RACKS}"])
    return racks


def _header(line: str, delimiter: str) -> list[str]:
    try:
        row = next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error:
        row = []
    return [cell.strip().lower() for cell in row]


def _json_lines(lines: Iterable[tuple[int, str]], faults: list[str]) -> Iterator[tuple[int, Any]]:
    for number, line in lines:
        try:
            yield number, decoded(line.encode())
        except ValueError:
            faults.append(f"line {number}: not JSON")


def _table(text: str, delimiter: str, faults: list[str]) -> Iterator[tuple[int, dict[str, str]]]:
    rows = csv.reader(text.splitlines(keepends=True), delimiter=delimiter)
    columns: list[str] = []
    try:
        for row in rows:
            cells = [cell.strip() for cell in row]
            if not any(cells):
                continue
            if columns:
                named = dict(zip(columns, cells, strict=False))
                asked = {name: named[name] for name in ("rack", "round") if named.get(name)}
                yield rows.line_num, {"rack": "", **asked}
            columns = columns or [cell.lower() for cell in cells]
    except csv.Error as error:
        faults.append(f"line {rows.line_num}: {error}")


def _spelled(entry: Any) -> Any:
    """Return a rack with its round spelled as the service does, which refuses a name that is none."""
    if isinstance(entry, dict) and isinstance(entry.get("round"), str):
        return {**entry, "round": spelled(entry["round"])}
    return entry


@dataclass(frozen=True)
class Batch:
    """What is to be answered, as tasks of one rack or one deal each, so that many workers can share them.

    Attributes:
        base: The request without racks, count, start and budget.
        racks: Racks of one's own, or None for deals.
        count: Deals wanted.
        start: First index to try.
        most: How many tasks there are at most: as many as racks, or deals to try.
    """

    base: Mapping[str, Any]
    racks: Sequence[OwnRack] | None
    count: int
    start: int
    most: int

    @property
    def digest(self) -> str:
        """Names the request: the same for the same questions, whoever answers them."""
        racks = None if self.racks is None else [rack.entry for rack in self.racks]
        asked = {**vars(self), "racks": racks}
        return hashlib.sha256(json.dumps(asked, sort_keys=True).encode()).hexdigest()

    def body(self, task: int) -> bytes:
        """Return the request of one task."""
        if self.racks is not None:
            return encoded({**self.base, "racks": [self.racks[task].entry]})
        return encoded({**self.base, "start": self.start + task, "count": 1, "budget": 1})

    def enough(self, found: Mapping[int, Mapping[str, Any]]) -> bool:
        """Return whether the answers found so far are all that is needed.

        Raises:
            KeyError, TypeError: an answer does not have the service's shape.
        """
        return len(self._used(found)[0]) >= self.count or len(found) >= self.most

    def merged(self, found: Mapping[int, Mapping[str, Any]]) -> dict[str, Any]:
        """Return one sheet of many, numbered from 1 in the order of the tasks.

        Raises:
            UnreachableError: the answers are not those of one and the same service.
            KeyError, TypeError: an answer does not have the service's shape.
        """
        sheets, tried = self._used(found)
        first = found[0]
        if any(sheet["versions"] != first["versions"] for sheet in sheets):
            raise UnreachableError(["the answers are of two versions of threepass: begin in another folder"])
        return {
            **first,
            "problems": _numbered([each for sheet in sheets for each in sheet["problems"]]),
            "key": _numbered([each for sheet in sheets for each in sheet["key"]]),
            "complete": len(sheets) >= self.count,
            "tried": tried,
        }

    def _used(self, found: Mapping[int, Mapping[str, Any]]) -> tuple[list[Mapping[str, Any]], int]:
        """Return the sheets with a problem, without a gap from the first task on, and the tasks they took."""
        used: list[Mapping[str, Any]] = []
        task = 0
        while task in found and len(used) < self.count:
            if found[task]["problems"]:
                used.append(found[task])
            task += 1
        return used, task


def _numbered(parts: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{**part, "number": number} for number, part in enumerate(parts, 1)]


@contextmanager
def alone_in(path: Path) -> Iterator[None]:
    """Make a folder if it is not there, and have it to oneself as long as the block lasts.

    Raises:
        UsageFault: another process has it.
        NotWrittenError: it cannot be made.
    """
    with _writing(path):
        path.mkdir(parents=True, exist_ok=True)
        folder = os.open(path, os.O_RDONLY)
    try:
        fcntl.flock(folder, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield
    except BlockingIOError:
        choose = "wait until it is done, or choose another with --out"
        raise UsageFault([f"{path}: another sheet is being made in this folder: {choose}"]) from None
    finally:
        os.close(folder)


class Folder:
    """A folder that belongs to one request: its files, and answers kept so that work can go on later.

    Args:
        path: The folder; to write more than answers it must be there.
        digest: Names the request.
        again: Whether answers of another request, and the files made of them, go with the first new answer.

    Raises:
        UsageFault: it has the answers of another request that are not to go, or something else of that name.
        NotWrittenError: it cannot be read.
    """

    def __init__(self, path: Path, digest: str, *, again: bool = False) -> None:
        self._path = path
        self._again = again
        self._answers = path / ANSWERS
        self._digest = digest
        self._header = {_MARK: _VERSION, "request": digest}
        self.read()

    def read(self) -> None:
        """Read what is kept, as after an interruption, which may have come while an answer was written."""
        self.kept: dict[int, dict[str, Any]] = {}
        with _writing(self._answers):
            content = self._answers.read_bytes() if self._answers.exists() else b""
            header, *lines = content.split(b"\n")
            self._begun = object_in(header) == self._header
            if not self._begun:
                ours = header[: len(_BEGINS)] == _BEGINS[: len(header)]
                # Begun, perhaps by another request, and without an answer: there is nothing to lose.
                if not ours or (any(lines) and not self._again):
                    choose = "make it again in its place with --again, or choose another with --out"
                    detail = f"this folder has the answers of another request: {choose}"
                    raise UsageFault([f"{self._answers}: {detail}"])
        for line in lines:
            read = object_in(line) or {}
            task, sheet = read.get("task"), read.get("sheet")
            # A line that was torn or spoiled, or is another request's, is answered anew.
            if (
                isinstance(task, int)
                and isinstance(sheet, dict)
                and read.get("check") == self._check(task, sheet)
            ):
                self.kept[task] = sheet

    def keep(self, task: int, sheet: Mapping[str, Any]) -> None:
        """Add a finished answer, and wait until it is on the disk.

        Raises:
            NotWrittenError: it cannot be written.
        """
        with _writing(self._answers):
            if not self._begun:
                for old in self._path.glob("*"):
                    if old.name == ANSWERS or (self._again and _MADE.fullmatch(old.name)):
                        old.unlink()
                append(self._answers, encoded(self._header))
                self._begun = True
            append(self._answers, self._line(task, sheet))
        self.kept[task] = dict(sheet)

    def settle(self, tasks: int) -> None:
        """Keep the answers of the first tasks, all that are needed, in order: the same file whoever answered.

        Raises:
            NotWrittenError: it cannot be written.
        """
        lines = [encoded(self._header), *(self._line(task, self.kept[task]) for task in range(tasks))]
        self.write(ANSWERS, b"".join(line + b"\n" for line in lines))

    def _line(self, task: int, sheet: Mapping[str, Any]) -> bytes:
        return encoded({"task": task, "check": self._check(task, sheet), "sheet": sheet})

    def _check(self, task: int, sheet: Mapping[str, Any]) -> str:
        return hashlib.sha256(encoded([self._digest, task, sheet])).hexdigest()[:16]

    def write(self, name: str, content: bytes) -> Path:
        """Write a file whole or not at all.

        Raises:
            NotWrittenError: it cannot be written; what stood there before still does.
        """
        path = self._path / name
        with _writing(path):
            write_whole(path, content)
        return path


@contextmanager
def _writing(path: Path) -> Iterator[None]:
    try:
        yield
    except (OSError, ValueError) as error:
        kept = "the answers kept so far stay, and the same command goes on"
        lines = [f"{path}: {said_by(error)}", f"make room or choose another folder; {kept}"]
        raise NotWrittenError(lines) from None
