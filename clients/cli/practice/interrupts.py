"""Interruptions: heeded where the person is waited for, kept waiting where a lap could be lost."""

from __future__ import annotations

import os
import select
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType, TracebackType
from typing import IO, Any, Self

# A terminal that goes away, and a request to end, count as Ctrl-C: otherwise either would end the process
# on the spot, and with it the lap under way. Not every system has all of them.
_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")


class Interrupts:
    """Ctrl-C and its like while a session lasts: they are heeded only in `open` blocks.

    Elsewhere an interruption waits for the next such block. Each block is interrupted at most once, so
    that two signals, or a signal and the error of a terminal that is gone, cannot get between a lap and
    its being logged.
    """

    def __init__(self) -> None:
        self._open = False
        self._waiting = False
        self._before: dict[int, Any] = {}
        self._wake: int | None = None
        self._wake_before = -1

    def __enter__(self) -> Self:
        if threading.current_thread() is threading.main_thread():
            self._wake, write = os.pipe()
            for end in (self._wake, write):
                os.set_blocking(end, False)
            self._wake_before = signal.set_wakeup_fd(write, warn_on_full_buffer=False)
            for name in _SIGNALS:
                number = getattr(signal, name, None)
                # One that is ignored stays so: that is what nohup asks for.
                if number is not None and signal.getsignal(number) != signal.SIG_IGN:
                    self._before[number] = signal.signal(number, self._signalled)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for number, handler in self._before.items():
            signal.signal(number, handler)
        if self._wake is not None:
            os.close(signal.set_wakeup_fd(self._wake_before))
            os.close(self._wake)

    def until_readable(self, file: IO[str]) -> None:
        """Wait until a terminal has a line, or a signal came; what is no terminal is not waited for.

        A read may miss a signal that comes just before it blocks. A signal is written to the pipe whenever it
        comes, so that this wait cannot.

        Raises:
            KeyboardInterrupt: Ctrl-C, in an `open` block.
        """
        if self._wake is None or not file.isatty():
            return
        while self._wake in select.select([file.fileno(), self._wake], [], [])[0]:
            os.read(self._wake, 4096)

    @contextmanager
    def open(self) -> Iterator[None]:
        """Heed interruptions in a block.

        Raises:
            KeyboardInterrupt: there is one, or one waited.
        """
        self._open = True
        try:
            if self._waiting:
                self._waiting = False
                raise KeyboardInterrupt
            yield
        finally:
            self._open = False

    @contextmanager
    def open_to_asyncio(self) -> Iterator[None]:
        """Heed interruptions in a block that runs an `EventLoop`, in its way: it ends its work in good order.

        Raises:
            KeyboardInterrupt: there is one, or one waited.
        """
        with self.open():
            ours = signal.SIGINT in self._before
            if ours:
                # Only in place of this one does the loop set its own.
                signal.signal(signal.SIGINT, signal.default_int_handler)
            try:
                yield
            finally:
                if ours:
                    signal.signal(signal.SIGINT, self._signalled)

    def _signalled(self, _number: int, frame: FrameType | None) -> None:
        lent = signal.getsignal(signal.SIGINT)
        if self._open and callable(lent) and lent != self._signalled:
            lent(signal.SIGINT, frame)
            return
        if not self._open:
            self._waiting = True
            return
        self._open = False
        raise KeyboardInterrupt
