"""The folder of a sheet: its files, and answers kept as they come, so that work can go on later."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from clients.cli.exits import NOT_WRITTEN, Failure, UsageFault
from clients.cli.practice.log_writing import append, line_of
from clients.cli.problems import object_of

ANSWERS = "answers.jsonl"
_MARK = "threepass_answers"
_VERSION = 1
_BEGINS = f'{{"{_MARK}"'.encode()


class NotWrittenError(Failure):
    """A file of the folder cannot be written."""

    exit_code = NOT_WRITTEN


class Folder:
    """A folder that belongs to one request.

    Args:
        path: The folder; it is made if it is not there.
        digest: Names the request.

    Raises:
        UsageFault: it has the answers of another request, or something else of that name.
        NotWrittenError: it cannot be made or read.
    """

    def __init__(self, path: Path, digest: str) -> None:
        self._path = path
        self._answers = path / ANSWERS
        self._header = {_MARK: _VERSION, "request": digest}
        self.kept: dict[int, dict[str, Any]] = {}
        try:
            path.mkdir(parents=True, exist_ok=True)
            content = self._answers.read_bytes() if self._answers.exists() else b""
        except (OSError, ValueError) as error:
            raise _not_written(path, error) from None
        whole = content[: content.rfind(b"\n") + 1]
        if content[: len(_BEGINS)] != _BEGINS[: len(content)]:
            raise self._of_another()
        self._begun = bool(whole) and self._read(whole.split(b"\n")[:-1])
        self._cut(len(content), len(whole) if self._begun else 0)

    def keep(self, task: int, sheet: Mapping[str, Any]) -> None:
        """Add a finished answer, and wait until it is on the disk.

        Raises:
            NotWrittenError: it cannot be written.
        """
        if not self._begun:
            self._append(self._header)
            self._begun = True
        self._append({"task": task, "sheet": sheet})
        self.kept[task] = dict(sheet)

    def write(self, name: str, content: bytes) -> Path:
        """Write a file whole or not at all.

        Raises:
            NotWrittenError: it cannot be written; what stood there before still does.
        """
        path, beside = self._path / name, self._path / f".{name}.part"
        try:
            with beside.open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            beside.replace(path)
        except OSError as error:
            beside.unlink(missing_ok=True)
            raise _not_written(path, error) from None
        return path

    def _read(self, lines: list[bytes]) -> bool:
        """Read what was kept, and return whether to go on after it."""
        if object_of(lines[0]) != self._header:
            if len(lines) > 1:
                raise self._of_another()
            return False
        for line in lines[1:]:
            read = object_of(line) or {}
            # A line that was spoilt is answered anew.
            if isinstance(read.get("task"), int) and isinstance(read.get("sheet"), dict):
                self.kept[read["task"]] = read["sheet"]
        return True

    def _cut(self, size: int, whole: int) -> None:
        """Cut off a last line that was torn when the work was broken off."""
        if whole == size:
            return
        try:
            os.truncate(self._answers, whole)
        except OSError as error:
            raise _not_written(self._answers, error) from None

    def _append(self, entry: Mapping[str, Any]) -> None:
        try:
            append(self._answers, line_of(entry))
        except (OSError, ValueError) as error:
            raise _not_written(self._answers, error) from None

    def _of_another(self) -> UsageFault:
        detail = "this folder has the answers of another request: choose another with --out"
        return UsageFault([f"{self._answers}: {detail}"])


def _not_written(path: Path, error: Exception) -> NotWrittenError:
    said = getattr(error, "strerror", None) or error
    return NotWrittenError(
        [
            f"{path}: {said}",
            "make room or choose another folder; the answers kept so far stay, and the same command goes on",
        ]
    )
