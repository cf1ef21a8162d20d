"""What ends long work: nobody waits for it any more, the server closes, or its time is over.

There is one stopper for each request. Whoever does the work makes it the current one of the thread, and every
loop that can be long asks `check_stop`, so that work ends within half a second wherever it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from enum import Enum
from math import inf
from threading import Lock
from time import monotonic


class End(Enum):
    """Why work is ended."""

    GONE = "nobody waits for the answer"
    CLOSING = "the server is closing"
    TIME = "its time is over"


class StoppedError(Exception):
    """The work was stopped, and why; there is no answer."""

    def __init__(self, end: End = End.GONE) -> None:
        super().__init__(end.value)
        self.end = end


class Stopper:
    """Ends some work, from any thread or when its time is over."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._end: End | None = None
        self._due = inf
        self._hooks: list[Callable[[], None]] = []

    def stop(self, end: End = End.GONE) -> None:
        """Ask for the end of the work; may be called from any thread, more than once."""
        with self._lock:
            self._end = self._end or end
            for hook in self._hooks:
                hook()

    def check(self) -> None:
        """Raise `StoppedError` if the work is to end."""
        if self._end is not None:
            raise StoppedError(self._end)
        if monotonic() > self._due:
            raise StoppedError(End.TIME)

    @property
    def left(self) -> float:
        """Seconds until the time is over; infinite where there is no such time."""
        return self._due - monotonic()

    @contextmanager
    def reaching(self, hook: Callable[[], None]) -> Iterator[None]:
        """Let `stop` also call something while a step runs that asks nobody, such as a foreign solver.

        `StoppedError` is raised before the step or after it if the work is to end.
        """
        self.check()
        with self._lock:
            self._hooks.append(hook)
        try:
            yield
        finally:
            with self._lock:
                self._hooks.remove(hook)
        self.check()

    @contextmanager
    def running(self, seconds: float = inf) -> Iterator[None]:
        """Be the current stopper of this thread, with so many seconds for the work; a part may have fewer."""
        due, self._due = self._due, monotonic() + seconds
        before = _CURRENT.set(self)
        try:
            yield
        finally:
            _CURRENT.reset(before)
            self._due = due


_CURRENT: ContextVar[Stopper] = ContextVar("stopper")
_NEVER = Stopper()


def current_stopper() -> Stopper:
    """Return the stopper of the work of this thread; one that never stops where there is none."""
    return _CURRENT.get(_NEVER)


def check_stop() -> None:
    """Raise `StoppedError` if the work of this thread is to end."""
    current_stopper().check()
