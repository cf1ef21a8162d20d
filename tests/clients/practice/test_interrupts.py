import asyncio
import os
import pty
import signal
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import IO

import pytest

from clients.cli.practice.interrupts import Interrupts

_CLOSING = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]


@pytest.mark.parametrize("number", [signal.SIGINT, *_CLOSING])
def test_an_interruption_is_heeded_where_it_may_be(number: signal.Signals) -> None:
    before = signal.getsignal(number)
    done: list[str] = []
    with Interrupts() as interrupts:
        signal.raise_signal(number)
        done.append("written")
        with pytest.raises(KeyboardInterrupt), interrupts.open():
            done.append("not reached: the interruption waited for this block")
        with interrupts.open():
            done.append("it is over")
        with pytest.raises(KeyboardInterrupt), interrupts.open():
            signal.raise_signal(number)
            done.append("not reached")
    assert done == ["written", "it is over"]
    assert signal.getsignal(number) is before


def test_a_second_one_waits_while_the_first_is_dealt_with() -> None:
    done: list[str] = []
    with Interrupts() as interrupts:
        try:
            with interrupts.open():
                signal.raise_signal(signal.SIGINT)
        except KeyboardInterrupt:
            signal.raise_signal(signal.SIGINT)
            done.append("written")
        with pytest.raises(KeyboardInterrupt), interrupts.open():
            done.append("not reached")
    assert done == ["written"]


@pytest.mark.parametrize("number", [signal.SIGINT, *_CLOSING])
def test_asyncio_ends_its_work_in_good_order(number: signal.Signals) -> None:
    done: list[str] = []

    async def work() -> None:
        try:
            signal.raise_signal(number)
            await asyncio.sleep(60)
        except asyncio.CancelledError:
            done.append("in good order")
            raise

    with Interrupts() as interrupts, asyncio.Runner() as runner:
        with pytest.raises(KeyboardInterrupt), interrupts.open_to_asyncio():
            runner.run(work())
        signal.raise_signal(number)
        done.append("waits again")
    assert done == ["in good order", "waits again"]


def test_an_error_closes_the_block_too() -> None:
    with Interrupts() as interrupts:
        with pytest.raises(OSError, match="gone"), interrupts.open():
            raise OSError("gone")
        signal.raise_signal(signal.SIGINT)


def test_what_is_ignored_stays_ignored() -> None:
    number = _CLOSING[-1]
    before = signal.signal(number, signal.SIG_IGN)
    try:
        with Interrupts() as interrupts, interrupts.open():
            signal.raise_signal(number)
    finally:
        signal.signal(number, before)


def test_outside_of_the_main_thread_nothing_is_set() -> None:
    done: list[object] = []

    def work() -> None:
        before = signal.getsignal(signal.SIGINT)
        with Interrupts() as interrupts, interrupts.open():
            done.append(signal.getsignal(signal.SIGINT) is before)

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert done == [True]


@pytest.fixture
def typed() -> Iterator[tuple[int, IO[str]]]:
    """A terminal: the end that types, and the end that is read."""
    ours, theirs = pty.openpty()
    with os.fdopen(theirs, encoding="utf-8") as file:
        yield ours, file
    os.close(ours)


def test_a_signal_ends_the_wait_though_the_pipe_was_not_empty(typed: tuple[int, IO[str]]) -> None:
    _, file = typed
    with Interrupts() as interrupts, interrupts.open():
        wake = signal.set_wakeup_fd(-1)
        signal.set_wakeup_fd(wake)
        os.write(wake, bytes([signal.SIGINT]))
        threading.Timer(0.2, signal.pthread_kill, (threading.main_thread().ident, signal.SIGINT)).start()
        with pytest.raises(KeyboardInterrupt):
            interrupts.until_readable(file)


def test_a_line_ends_the_wait_also_after_an_interruption(typed: tuple[int, IO[str]]) -> None:
    ours, file = typed
    with Interrupts() as interrupts:
        signal.raise_signal(signal.SIGINT)
        with pytest.raises(KeyboardInterrupt), interrupts.open():
            pass
        os.write(ours, b"4b 4c E\n")
        with interrupts.open():
            interrupts.until_readable(file)
            assert file.readline() == "4b 4c E\n"


def test_what_is_no_terminal_is_not_waited_for(tmp_path: Path) -> None:
    path = tmp_path / "typed"
    path.touch()
    with path.open() as file, Interrupts() as interrupts, interrupts.open():
        interrupts.until_readable(file)


def test_the_wake_up_is_put_back() -> None:
    before = signal.set_wakeup_fd(-1)
    with Interrupts():
        pass
    assert signal.set_wakeup_fd(before) == -1
