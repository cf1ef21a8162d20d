"""The clock of a lap: it can be held, and it is read pass by pass."""

from __future__ import annotations

from collections.abc import Callable

_DECIMALS = 3


class Stopwatch:
    """Counts the seconds it runs; it is made at rest.

    Args:
        clock: Seconds from any fixed moment, never going back.
    """

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._since: float | None = None
        self._before = 0.0

    def run(self) -> None:
        """Run from now on, if it does not already."""
        if self._since is None:
            self._since = self._clock()

    def hold(self) -> None:
        """Stand still until it is told to run; what it has counted stays."""
        if self._since is not None:
            self._before += self._clock() - self._since
            self._since = None

    def read(self) -> float:
        """Return the seconds counted since the last pass was taken, to a thousandth."""
        running = 0.0 if self._since is None else self._clock() - self._since
        return round(self._before + running, _DECIMALS)

    def take(self) -> float:
        """Return the seconds of this pass and begin the next at zero; a watch that runs goes on running."""
        self.hold()
        seconds, self._before = self.read(), 0.0
        self._since = self._clock()
        return seconds
