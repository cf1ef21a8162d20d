import asyncio
import gc
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread
from types import FrameType
from typing import Any

import pytest

from clients.cli import event_loop
from clients.cli.event_loop import EventLoop

# Lines of these may be where the process is when Ctrl-C comes.
LOOP = {Path(module.__file__ or "").name for module in (asyncio.runners, asyncio.base_events, event_loop)}
LINES = 400


@pytest.fixture
def loop() -> Iterator[EventLoop]:
    loop = EventLoop()
    yield loop
    loop.close()


@contextmanager
def pressed_at(line: int) -> Iterator[list[int]]:
    """Press Ctrl-C at the n-th line of the loop's code that runs in the block; count them."""
    passed = [0]

    def trace(frame: FrameType, event: str, _: object) -> Any:
        if Path(frame.f_code.co_filename).name not in LOOP:
            return None
        if event == "line":
            passed[0] += 1
            if passed[0] == line:
                signal.raise_signal(signal.SIGINT)
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        yield passed
    finally:
        sys.settrace(before)


async def helped() -> str:
    """Wait for a task of one's own, as the service does for a client that leaves."""
    helper = asyncio.ensure_future(asyncio.sleep(60))
    try:
        await asyncio.sleep(0)
        return "the answer"
    finally:
        helper.cancel()


def test_ctrl_c_at_any_line_leaves_nothing_behind() -> None:
    # CP-SAT, where other tests let it mind Ctrl-C itself, leaves the system's handler behind: that ends all.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    raised = whole = 0
    for line in range(1, LINES):
        loop = EventLoop()
        try:
            with pressed_at(line) as passed:
                whole += loop.run(helped) == "the answer"
        except KeyboardInterrupt:
            raised += 1
        assert loop.run(lambda: asyncio.sleep(0, "the next")) == "the next"
        loop.close()
        if passed[0] < line:
            break
    gc.collect()  # tasks that are left would be told of here
    assert raised > 50
    assert raised == line - 1, "no interruption is lost"
    assert whole == 1, "only the last call was not interrupted"


def test_an_interrupted_call_is_cancelled(loop: EventLoop) -> None:
    ended = []

    async def work() -> None:
        try:
            signal.raise_signal(signal.SIGINT)
            await asyncio.sleep(60)
        finally:
            ended.append("in order")

    with pytest.raises(KeyboardInterrupt):
        loop.run(work)
    assert ended == ["in order"]


def test_who_insists_is_heeded_at_once(loop: EventLoop) -> None:
    async def work() -> None:
        for _ in range(2):
            signal.raise_signal(signal.SIGINT)
        pytest.fail("went on")

    with pytest.raises(KeyboardInterrupt):
        loop.run(work)


def test_a_call_cancelled_otherwise_is_no_interruption(loop: EventLoop) -> None:
    async def work() -> None:
        raise asyncio.CancelledError

    with pytest.raises(asyncio.CancelledError):
        loop.run(work)


def test_who_minds_ctrl_c_already_goes_on_minding_it(loop: EventLoop) -> None:
    seen = []

    async def work() -> str:
        signal.raise_signal(signal.SIGINT)
        return "the answer"

    before = signal.signal(signal.SIGINT, lambda *_: seen.append("pressed"))
    try:
        assert loop.run(work) == "the answer"
    finally:
        signal.signal(signal.SIGINT, before)
    assert seen == ["pressed"]


def test_another_thread_has_no_ctrl_c(loop: EventLoop) -> None:
    answers: list[str] = []
    thread = Thread(target=lambda: answers.append(loop.run(lambda: asyncio.sleep(0, "the answer"))))
    thread.start()
    thread.join()
    assert answers == ["the answer"]


def test_the_handler_is_put_back(loop: EventLoop) -> None:
    loop.run(lambda: asyncio.sleep(0))
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
