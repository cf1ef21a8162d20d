"""Appending to the practice log, which the person owns: one JSON line a lap, never lost."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from io import FileIO
from pathlib import Path
from typing import Any

from clients.cli.output import complain


def default_path() -> Path:
    """Return the log's place when none is named: in the folder where this person's programs keep data."""
    from platformdirs import user_data_path

    return user_data_path("threepass", appauthor=False) / "practice.jsonl"


def line_of(entry: Mapping[str, Any]) -> bytes:
    """Return an entry as one line of ASCII, so that no encoding can spoil it."""
    return json.dumps(entry, separators=(",", ":"), allow_nan=False).encode("ascii") + b"\n"


def append(path: Path, line: bytes) -> None:
    """Append a line and wait until it is on the disk.

    A last line that was torn, by a full disk or a crash, is ended first, so that it spoils no other.

    Raises:
        OSError, ValueError: it cannot be written.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    # Without a buffer: nothing is left to be written when the file closes.
    with path.open("ab+", buffering=0) as file:
        rest = memoryview(line if _ended(file) else b"\n" + line)
        while rest:
            rest = rest[file.write(rest) :]
        os.fsync(file.fileno())


def keep(path: Path, entry: Mapping[str, Any]) -> bool:
    """Append an entry; when that fails say so, print the line on stderr, and return False."""
    line = line_of(entry)
    try:
        append(path, line)
    except (OSError, ValueError) as error:
        said = getattr(error, "strerror", None) or error
        complain(f"the lap could not be written to {path}: {said}\nthis is its line, to be kept by hand:")
        complain(line.decode("ascii").rstrip("\n"))
        return False
    return True


def _ended(file: FileIO) -> bool:
    if os.fstat(file.fileno()).st_size == 0:
        return True
    file.seek(-1, os.SEEK_END)
    return file.read(1) == b"\n"
