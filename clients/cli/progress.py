"""Progress over many lines, laps or deals, on stderr, so that stdout stays clean for programs."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

from clients.cli.output import complain

_WORTH_TELLING = 1.0


class Progress:
    """Counts what is done.

    A terminal sees the count move, unless the answers themselves go to one; otherwise one line is
    printed at the end, if the work took more than a second.

    Args:
        clock: Seconds from any fixed moment.
        one: What is counted.
        done: What happens to it.
        answers: Whether the answers go to stdout.
    """

    def __init__(
        self,
        clock: Callable[[], float] = time.monotonic,
        one: str = "line",
        done: str = "answered",
        *,
        answers: bool = True,
    ) -> None:
        self._clock = clock
        self._began = clock()
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
        """Print the last word."""
        if self._live and self.answered:
            print("\r", end="", file=sys.stderr)
        if interrupted:
            # No count here: the interruption may fall between an answer and its being counted.
            complain("interrupted: the answers printed so far are whole")
        elif self._live or self._clock() - self._began > _WORTH_TELLING:
            complain(self._words())

    def _words(self) -> str:
        lines = f"{self.answered} {self._one}{'' if self.answered == 1 else 's'} {self._done}"
        return f"{lines}, {self.failed} of them with a problem" if self.failed else lines
