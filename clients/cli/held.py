"""Holding back Ctrl-C for a moment, so that what is finished is told whole."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def held() -> Iterator[None]:
    """Let Ctrl-C wait until the block is over; it is then raised as usual. One that is ignored stays so.

    Raises:
        KeyboardInterrupt: it was pressed within the block.
    """
    main = threading.current_thread() is threading.main_thread()
    if not main or signal.getsignal(signal.SIGINT) == signal.SIG_IGN:
        yield
        return
    pressed = False

    def note(*_: object) -> None:
        nonlocal pressed
        pressed = True

    before = signal.signal(signal.SIGINT, note)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if pressed:
        raise KeyboardInterrupt
