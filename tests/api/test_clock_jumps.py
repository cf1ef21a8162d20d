"""The wall clock is set while something is timed: nothing waits, ends or is counted by it."""

import ast
import asyncio
import time
from collections.abc import Callable, Iterator
from itertools import cycle
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from starlette.requests import Request

from api.served import QUEUE_WAIT
from api.work import BusyError, Work

ROOT = Path(__file__).parents[2]
YEAR = 365 * 86_400.0
WALL = {"time", "time_ns", "ctime", "localtime", "gmtime", "now", "utcnow", "today"}
# The only places that ask for the date: the moment a lap began. (Log lines have theirs from `logging`.)
DATED = {"clients/cli/practice/practise.py"}


@pytest.fixture
def jumping(monkeypatch: pytest.MonkeyPatch) -> Callable[[], float]:
    """A wall clock that is set a year on and a year back whenever it is read; count its readings."""
    real, jumps = time.time, cycle((YEAR, -YEAR, 0.0))

    def jump() -> float:
        return real() + next(jumps)

    monkeypatch.setattr(time, "time", jump)
    return jump


def idle(scope: dict[str, Any]) -> Request:
    async def receive() -> dict[str, Any]:
        await asyncio.Event().wait()
        raise AssertionError

    return Request(scope, receive)


def test_a_wait_in_the_queue_is_as_long_as_it_was_said_to_be(jumping: Callable[[], float]) -> None:
    go, begun = Event(), Event()

    def hold(_: object) -> str:
        begun.set()
        assert go.wait(30)
        return "done"

    async def run() -> None:
        assert jumping() - jumping() > YEAR
        work = Work(1, 2, 0.05)
        first: dict[str, Any] = {"type": "http"}
        running = asyncio.create_task(work.run(idle(first), hold))
        assert await asyncio.to_thread(begun.wait, 30)
        second: dict[str, Any] = {"type": "http"}
        with pytest.raises(BusyError):
            await work.run(idle(second), lambda _: "never")
        assert 0.05 <= second[QUEUE_WAIT] < YEAR
        go.set()
        assert await running == "done"
        assert 0 <= first[QUEUE_WAIT] < YEAR
        work.close()

    asyncio.run(asyncio.wait_for(run(), 60))


def readings(file: Path) -> Iterator[str]:
    """Yield what a source file calls that tells the date."""
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute | ast.Name):
            name = node.func.attr if isinstance(node.func, ast.Attribute) else node.func.id
            of = ast.unparse(node.func.value) if isinstance(node.func, ast.Attribute) else "time"
            if name in WALL and of in ("time", "datetime", "date", "datetime.datetime", "datetime.date"):
                yield f"{of}.{name}"


def test_only_where_a_date_is_wanted_is_it_asked_for() -> None:
    shipped = [
        file for part in ("patterns", "solver", "api", "clients") for file in (ROOT / part).rglob("*.py")
    ]
    assert len(shipped) > 100
    assert {file.relative_to(ROOT).as_posix() for file in shipped if list(readings(file))} == DATED


def test_the_search_for_dates_finds_them(tmp_path: Path) -> None:
    file = tmp_path / "a.py"
    file.write_text("time.time(); datetime.now(UTC); time.monotonic(); self.now(); time()")
    assert list(readings(file)) == ["time.time", "datetime.now", "time.time"]
