"""How a command speaks and ends: pages of 80 columns, its two streams, files whole, exit codes."""

from __future__ import annotations

import errno
import os
import re
import sys
import textwrap
import time
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from enum import IntEnum
from itertools import groupby, zip_longest
from pathlib import Path
from typing import IO, Any, Self, TextIO

import click

from api.service import counted

MAX_FILE = 50_000_000
WIDTH = 80
_LABEL = 18
_GAP = 2
_NARROWEST = 8
_NO_BREAK = "\u00a0"
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
    # A file of the person's own (a log, a plot, a sheet), whose content is not lost, or standard output.
    NOT_WRITTEN = 5
    INTERRUPTED = 130


class Failure(click.ClickException):
    """An end of the command with an exit code, and lines for the person on stderr, one a fault."""

    def __init__(self, code: Exit, *lines: str) -> None:
        super().__init__("\n".join(lines))
        # By these it is made again in another process.
        self.args = (code, *lines)
        self.exit_code = code  # type: ignore[misc]  # of the class, as click has it
        self.lines = lines

    def show(self, file: IO[Any] | None = None) -> None:
        """Print the lines as they are, without a prefix."""
        complain(self.message)


def clean(text: str) -> str:
    """Return text without characters that a terminal would obey; line ends stay."""
    return _OBEYED.sub("?", text)


def say(text: str) -> None:
    """Print text for people on stdout."""
    _print(text, sys.stdout)


def complain(text: str, begin: str = "", end: str = "\n") -> None:
    """Print text for people on stderr; where that cannot be written, nobody is told."""
    try:
        _print(text, sys.stderr, begin, end)
    except OSError:
        _let_go(sys.stderr)


def open_closed_streams() -> None:
    """Give standard streams that the shell closed a place where reading and writing fail as on any file.

    Otherwise they would be None, and the next file opened would get their numbers. What is closed and only
    complained to takes everything.
    """
    for name, mode, opened in (
        ("stdin", "r", os.O_WRONLY),
        ("stdout", "w", os.O_RDONLY),
        ("stderr", "w", os.O_WRONLY),
    ):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.open(os.devnull, opened), mode, encoding="utf-8"))  # noqa: PTH123, SIM115


def unwritten(error: OSError) -> int:
    """Say that stdout cannot be written, and return the exit code; what is left for it is given up."""
    _let_go(sys.stdout)
    complain(f"standard output: {said_by(error)}")
    return Exit.NOT_WRITTEN


def _let_go(stream: TextIO) -> None:
    """Have what a stream still holds go nowhere, so that its end is no second error."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)


def write_bytes(content: bytes) -> None:
    """Write bytes for programs on stdout, at once."""
    sys.stdout.buffer.write(content)
    sys.stdout.buffer.flush()


def write_body(content: bytes) -> None:
    """Write one body exactly as the service sent it; only a terminal gets a line end after it."""
    write_bytes(content + b"\n" if sys.stdout.isatty() else content)


def said_by(error: Exception) -> str:
    """Return an error of the operating system in words."""
    if isinstance(error, OSError) and error.errno == errno.EBADF:
        return "it is closed"
    return str(getattr(error, "strerror", None) or error)


class Progress:
    """Counts lines, laps or deals on stderr, so that stdout stays clean for programs.

    A terminal sees the count move, unless the answers themselves go to one. Otherwise one line is printed at
    the end, if the work took more than a second. An interruption ends the block, and what was answered
    until then is kept; work without answers on stdout has its last word as the block ends.
    """

    def __init__(self, one: str, done: str, *, answers: bool = True) -> None:
        self._began = time.monotonic()
        self._live = sys.stderr.isatty() and not (answers and sys.stdout.isatty())
        self._one, self._done, self._answers = one, done, answers
        self.answered = self.failed = 0
        self.interrupted = False

    def count(self, ok: bool, more: int = 1) -> None:
        """Count one, or more at once."""
        self.answered += more
        self.failed += not ok
        if self._live:
            complain(self._words(), "\r", "")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, error: type[BaseException] | None, *_: object) -> bool:
        self.interrupted = self._answers and error is KeyboardInterrupt
        if self.answered and not self._answers:
            self.end()
        return self.interrupted

    def end(self) -> int:
        """Print the last word and return the exit code.

        There is no count after an interruption, which may have come between an answer and its counting.
        """
        if self._live and self.answered:
            complain("", "\r", "")
        if self.interrupted:
            complain("interrupted: the answers printed so far are whole")
            return Exit.INTERRUPTED
        if self._live or time.monotonic() - self._began > _WORTH_TELLING:
            complain(self._words())
        return Exit.SOME_LINES_FAILED if self.failed else Exit.ANSWERED

    def _words(self) -> str:
        lines = f"{counted(self.answered, self._one)} {self._done}"
        return f"{lines}, {self.failed} of them with a problem" if self.failed else lines


def content_of(file: str, most: int = MAX_FILE) -> bytes:
    """Return what is in a file, or on stdin for ``-``; none, or one of too many bytes, is a `Failure`."""
    try:
        if file == "-":
            content = sys.stdin.buffer.read(most + 1)
        else:
            with Path(file).open("rb") as opened:
                content = opened.read(most + 1)
    except (OSError, ValueError) as error:
        name = "standard input" if file == "-" else file
        raise Failure(Exit.USAGE, f"{name}: {said_by(error)}") from None
    if len(content) > most:
        raise Failure(Exit.USAGE, f"{file}: over {most:,} bytes")
    return content


def lines_in(stream: Iterable[bytes]) -> Iterator[bytes]:
    """Yield the lines of stdin as they come; that it cannot be read is a `Failure`."""
    try:
        yield from stream
    except OSError as error:
        raise Failure(Exit.USAGE, f"standard input: {said_by(error)}") from None


def append(path: Path, line: bytes) -> None:
    """Append a line and wait until it is on the disk; an OSError or ValueError says that it cannot be.

    A last line that was torn, by a full disk or a crash, is ended first, so that it spoils no other.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("ab+") as file:
        end = file.seek(0, os.SEEK_END)
        file.seek(max(0, end - 1))
        torn = file.read() not in (b"", b"\n")
        file.write(b"\n" * torn + line + b"\n")
        file.flush()
        os.fsync(file.fileno())


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that it is there whole or, with an OSError or ValueError, as it was before."""
    new = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with new.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        new.replace(path)
    except BaseException:
        new.unlink(missing_ok=True)
        raise


def _print(text: str, stream: TextIO, begin: str = "", end: str = "\n") -> None:
    encoding = stream.encoding or "utf-8"
    shown = clean(text).encode(encoding, "backslashreplace").decode(encoding)
    print(begin + shown, end=end, file=stream, flush=True)


def labeled(label: str, text: str, indent: int = 2, column: int = _LABEL) -> list[str]:
    """Return lines with a label in front; what does not fit goes on below the text."""
    first = " " * indent + label.ljust(column)
    return _wrapped(text, first, " " * len(first))


def entry(figure: str, name: str, note: str = "") -> list[str]:
    """Return a line with a figure, a name, and a note at the right edge if there is room for it."""
    first = f"  {figure:>11}  "
    if note and len(first) + len(name) + 2 + len(note) <= WIDTH:
        return [(first + name).ljust(WIDTH - len(note)) + note]
    lines = _wrapped(name, first, " " * len(first))
    return lines + (_wrapped(note, " " * len(first), " " * len(first)) if note else [])


def paragraph(text: str, indent: int = 2) -> list[str]:
    """Return a wrapped paragraph; its second line and the next hang by two."""
    return _wrapped(text, " " * indent, " " * (indent + 2))


def section(title: str, lines: Sequence[str]) -> list[str]:
    """Return lines under a title, or none of none."""
    return [title, *lines] if lines else []


def page(blocks: Iterable[Sequence[str]]) -> str:
    """Return blocks of lines with a blank line between; blocks of none are left out."""
    return "\n\n".join("\n".join(block) for block in blocks if block)


def table(head: Sequence[str], rows: Sequence[Sequence[str]], right: Collection[int] = ()) -> list[str]:
    """Return the lines of a table with titles, or none without rows; each row must have as many cells.

    Columns are as wide as their cells, and wrapped where there is no room; those on the ``right`` never are.
    """
    if not rows:
        return []
    widths = [max(map(len, column)) for column in zip(head, *rows, strict=True)]
    while sum(widths) + _GAP * len(widths) > WIDTH:
        widest = max((c for c in range(len(widths)) if c not in right), key=lambda c: widths[c], default=None)
        if widest is None or widths[widest] <= _NARROWEST:
            break
        widths[widest] -= 1
    lines = []
    for row in (head, *rows):
        cells = [
            [cell] if column in right else textwrap.wrap(cell, widths[column], break_on_hyphens=False)
            for column, cell in enumerate(row)
        ]
        for parts in zip_longest(*cells, fillvalue=""):
            placed = [
                " " * _GAP + (part.rjust(width) if column in right else part.ljust(width))
                for column, (part, width) in enumerate(zip(parts, widths, strict=True))
            ]
            lines.append("".join(placed).rstrip())
    return lines


def in_groups(tokens: Sequence[str]) -> str:
    """Return tokens with one space between tiles alike and two where the kind changes."""
    return "  ".join(" ".join(run) for _, run in groupby(tokens)) or "none"


def hand_lines(hand: Mapping[str, Any]) -> list[str]:
    """Return a hand's chance and name, and its tiles: all, held, missing."""
    words = hand["words"]
    kind = ", ".join(filter(None, (hand["family"], words["concealed"])))
    jokers = f"  ({words['jokers']})" if words["jokers"] else ""
    return [
        *entry(words["chance"], f"{hand['name']} ({kind})", words["facts"]),
        *labeled("tiles", in_groups(hand["target"]), 15, 9),
        *labeled("held", in_groups(hand["served_by"]) + jokers, 15, 9),
        *labeled("missing", in_groups(hand["missing"]), 15, 9),
    ]


def odds_lines(answer: Mapping[str, Any]) -> list[str]:
    """Return the chance of completing some hand where it is stated, and where odds come from."""
    some, odds = answer["words"]["some_hand"], answer["odds"]["words"]
    return labeled("Odds", odds) if some is None else [*labeled("Some hand", some), *labeled("", odds)]


def assumed(assumptions: Mapping[str, Any]) -> list[str]:
    """Return what an answer rests on."""
    return ["Assumed", *(line for sentence in assumptions["words"] for line in paragraph(sentence))]


def _wrapped(text: str, first: str, rest: str) -> list[str]:
    # The space that parts groups of tiles is two wide and must survive, so words are not re-joined. A
    # figure and its percent sign stay on one line.
    lines = textwrap.wrap(
        text.replace(" %", f"{_NO_BREAK}%"),
        WIDTH,
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
        drop_whitespace=True,
    )
    return [line.replace(f"{_NO_BREAK}%", " %").rstrip() for line in lines] or [first.rstrip()]
