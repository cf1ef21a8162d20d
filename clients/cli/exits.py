"""Exit codes of the command, and the errors that end it with one of them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import IO, Any

import click

from clients.cli.output import complain

REFUSED = 1
USAGE = 2
UNREACHABLE = 3
SOME_LINES_FAILED = 4
# A file of the person's own (a practice log, a plot) could not be written; its content is not lost.
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

    exit_code = REFUSED


class UsageFault(Failure):
    """What the command was given cannot be used, such as a card file that is not there."""

    exit_code = USAGE


class UnreachableError(Failure):
    """No service answered, or what answered is not one."""

    exit_code = UNREACHABLE
