"""One event loop for all calls of a command, which Ctrl-C leaves in order."""

from __future__ import annotations

import asyncio
import signal
import threading
from collections.abc import Callable, Coroutine
from typing import Any, Generic, TypeVar

Result = TypeVar("Result")


class EventLoop:
    """Runs one call after another. Ctrl-C cancels the call under way and nothing else of the loop.

    asyncio's own runner raises KeyboardInterrupt wherever the loop happens to be when Ctrl-C comes just as
    a call begins or ends, which can leave tasks behind that nobody ends. Here it waits for the call's end.
    """

    def __init__(self) -> None:
        self._runner = asyncio.Runner()

    def run(self, work: Callable[[], Coroutine[Any, Any, Result]]) -> Result:
        """Run a call to its end and return what it returns.

        Where something else minds Ctrl-C already, it is left to that.

        Raises:
            KeyboardInterrupt: Ctrl-C was pressed; the call was cancelled or over. Pressed twice, it is
                raised at once.
        """
        ours = threading.current_thread() is threading.main_thread()
        if not ours or signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
            return self._runner.run(work())
        call = _Call(work)
        signal.signal(signal.SIGINT, call.interrupt)
        try:
            result = self._runner.run(call.run())
        except asyncio.CancelledError:
            if call.interrupted:
                raise KeyboardInterrupt from None
            raise
        finally:
            signal.signal(signal.SIGINT, signal.default_int_handler)
        if call.interrupted:
            raise KeyboardInterrupt
        return result

    def close(self) -> None:
        """End what is left and close the loop."""
        self._runner.close()


class _Call(Generic[Result]):
    """One call, and whether it was interrupted."""

    def __init__(self, work: Callable[[], Coroutine[Any, Any, Result]]) -> None:
        self._work = work
        self._task: asyncio.Task[Any] | None = None
        self.interrupted = False

    async def run(self) -> Result:
        self._task = asyncio.current_task()
        if self.interrupted:
            raise asyncio.CancelledError
        return await self._work()

    def interrupt(self, *_: object) -> None:
        """Note an interruption, wherever the loop is, and let the loop do the rest."""
        if self.interrupted:
            raise KeyboardInterrupt
        self.interrupted = True
        if self._task is not None:
            self._task.get_loop().call_soon_threadsafe(self._task.cancel)
