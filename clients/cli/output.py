"""Where a command speaks and how it ends: answers on stdout, the rest on stderr, files whole, exit codes."""

from __future__ import annotations

import os
import re
import sys
import tempfile
import time
from collections.abc import Iterable
from enum import IntEnum
from io import FileIO
from pathlib import Path
from typing import IO, Any, BinaryIO, TextIO

import click

from api.service import counted

MAX_FILE = 50_000_000
# More than any body the service takes, and than any lap of a log: a longer line is cut here.
MAX_LINE = 4_000_000
_WORTH_TELLING = 1.0
# Names on a card come from its author and answers may come from any server: nothing that a terminal
# would obey (controls, and marks that reorder text) is passed on to it.
_OBEYED = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]")


class Exit(IntEnum):
    """How the command ends."""

    ANSWERED = 0
    REFUSED = 1
    USAGE = 2
    UNREACHABLE = 3
    SOME_LINES_FAILED = 4
    # A file of the person's own (a log, a plot, a sheet) could not be written; its content is not lost.
    NOT_WRITTEN = 5
    INTERRUPTED = 130


class Failure(click.ClickException):
    """An end of the command with lines for the person on stderr.

    Args:
        lines: What is wrong, one line a fault.
    """

    def __init__(self, lines: Iterable[str]) -> None:
        self.lines = tuple(lines)
        super().__init__("\n".join(self.lines))

    def show(self, file: IO[Any] | None = None) -> None:
        """Print the lines as they are, without a prefix."""
        complain("\n".join(self.lines))


class RefusedError(Failure):
    """The service was reached and refused."""

    exit_code = Exit.REFUSED


class UsageFault(Failure):
    """What the command was given cannot be used, such as a card file that is not there."""

    exit_code = Exit.USAGE


class UnreachableError(Failure):
    """No service answered, or what answered is not one."""

    exit_code = Exit.UNREACHABLE


class NotWrittenError(Failure):
    """A file of the person's own cannot be written."""

    exit_code = Exit.NOT_WRITTEN


def clean(text: str) -> str:
    """Return text without characters that a terminal would obey; line ends stay."""
    return _OBEYED.sub("?", text)


def say(text: str) -> None:
    """Print text for people on stdout."""
    _print(text, sys.stdout)


def complain(text: str) -> None:
    """Print text for people on stderr."""
    _print(text, sys.stderr)


def write_bytes(content: bytes) -> None:
    """Write bytes for programs on stdout, at once."""
    sys.stdout.buffer.write(content)
    sys.stdout.buffer.flush()


def write_body(content: bytes) -> None:
    """Write one body exactly as the service sent it; only a terminal gets a line end after it."""
    write_bytes(content + b"\n" if sys.stdout.isatty() else content)


def said_by(error: Exception) -> str:
    """Return an error of the operating system in words."""
    return str(getattr(error, "strerror", None) or error)


class Progress:
    """Counts lines, laps or deals on stderr, so that stdout stays clean for programs.

    A terminal sees the count move, unless the answers themselves go to one. Otherwise one line is printed at
    the end, if the work took more than a second.
    """

    def __init__(self, one: str, done: str, *, answers: bool = True) -> None:
        self._began = time.monotonic()
        self._live = sys.stderr.isatty() and not (answers and sys.stdout.isatty())
        self._one, self._done = one, done
        self.answered = 0
        self.failed = 0

    def count(self, ok: bool, more: int = 1) -> None:
        """Count one, or more at once."""
        self.answered += more
        self.failed += not ok
        if self._live:
            print(f"\r{self._words()}", end="", file=sys.stderr, flush=True)

    def end(self, interrupted: bool = False) -> None:
        """Print the last word; without a count if an interruption fell between an answer and its counting."""
        if self._live and self.answered:
            print("\r", end="", file=sys.stderr)
        if interrupted:
            complain("interrupted: the answers printed so far are whole")
        elif self._live or time.monotonic() - self._began > _WORTH_TELLING:
            complain(self._words())

    def _words(self) -> str:
        lines = f"{counted(self.answered, self._one)} {self._done}"
        return f"{lines}, {self.failed} of them with a problem" if self.failed else lines


def content_of(file: str, most: int = MAX_FILE) -> bytes:
    """Return what is in a file, or on stdin for ``-``.

    Raises:
        UsageFault: no such file, or too large.
    """
    try:
        if file == "-":
            content = sys.stdin.buffer.read(most + 1)
        else:
            with Path(file).open("rb") as opened:
                content = opened.read(most + 1)
    except (OSError, ValueError) as error:
        raise UsageFault([f"{file}: {said_by(error)}"]) from None
    if len(content) > most:
        raise UsageFault([f"{file}: over {most:,} bytes"])
    return content


def lines_in(stream: BinaryIO) -> Iterable[bytes]:
    """Yield the lines of a stream as they come, each cut at `MAX_LINE` bytes, without their ends."""
    while line := stream.readline(MAX_LINE):
        rest = line
        while not rest.endswith(b"\n") and (rest := stream.readline(MAX_LINE)):
            pass
        yield line.rstrip(b"\r\n")


def append(path: Path, line: bytes) -> None:
    """Append a line and wait until it is on the disk.

    A last line that was torn, by a full disk or a crash, is ended first, so that it spoils no other.

    Raises:
        OSError, ValueError: it cannot be written.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    # Without a buffer: nothing is left to be written when the file closes.
    with path.open("ab+", buffering=0) as file:
        rest = memoryview((b"" if _ended(file) else b"\n") + line + b"\n")
        while rest:
            rest = rest[file.write(rest) :]
        os.fsync(file.fileno())


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that it is there whole or, if it cannot be, as it was before.

    Raises:
        OSError, ValueError: it cannot be written.
    """
    number, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with open(number, "wb") as file:  # noqa: PTH123 - an open descriptor
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        mask = os.umask(0)
        os.umask(mask)
        Path(name).chmod(0o666 & ~mask)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _ended(file: FileIO) -> bool:
    if os.fstat(file.fileno()).st_size == 0:
        return True
    file.seek(-1, os.SEEK_END)
    return file.read(1) == b"\n"


def _print(text: str, stream: TextIO) -> None:
    encoding = stream.encoding or "utf-8"
    shown = clean(text).encode(encoding, "backslashreplace").decode(encoding)
    print(shown, file=stream, flush=True)
