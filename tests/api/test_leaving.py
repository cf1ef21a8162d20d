"""Long work ends soon after its client is gone: between one solve and the next, or within one."""

import asyncio
from collections.abc import Callable
from threading import Event
from typing import Any

import pytest

import solver.ahead
import solver.deals
import solver.look_ahead
import solver.review
from api.app import create_app
from api.settings import Settings
from tests.api.leaving import ask_and_leave
from tests.api.racks import RACK

RECORD = {
    "rack": RACK,
    "card": "small",
    "exchanges": [{"round": "first_right", "given": "1d E W", "received": "3b 9c N"}],
}
ADVICE = {"rack": RACK, "card": "small", "round": "first_right"}


class Paused:
    """Calls a step of long work; the second call says that work has begun, and waits."""

    def __init__(self, step: Callable[..., Any]) -> None:
        self.calls = 0
        self.begun = Event()
        self.go = Event()
        self._step = step

    def __call__(self, *args: Any, **members: Any) -> Any:
        self.calls += 1
        if self.calls == 2:
            self.begun.set()
            assert self.go.wait(30)
        return self._step(*args, **members)


@pytest.mark.parametrize(
    ("path", "body", "module", "step"),
    [
        ("/v1/reviews", {"records": [RECORD] * 20}, solver.review, "advise"),
        ("/v1/deals", {"seed": 1, "card": "small", "count": 50}, solver.deals, "advise"),
        ("/v1/votes", {"rack": RACK, "card": "small", "samples": 100}, solver.ahead, "tables_of"),
        ("/v1/advice", {**ADVICE, "look_ahead": {"samples": 200}}, solver.look_ahead, "tables_of"),
    ],
)
def test_a_client_that_leaves_stops_long_work(
    monkeypatch: pytest.MonkeyPatch, path: str, body: object, module: object, step: str
) -> None:
    paused = Paused(getattr(module, step))
    monkeypatch.setattr(module, step, paused)
    app = create_app(Settings(threads=1))

    async def leave() -> list[int]:
        async with app.router.lifespan_context(app):
            sent = await ask_and_leave(app, path, body, paused.begun)
            assert app.state.services.work.admitted == 1
            paused.go.set()
            while app.state.services.work.admitted:
                await asyncio.sleep(0.001)
        return sent

    assert asyncio.run(asyncio.wait_for(leave(), 60)) == [503]
    assert paused.calls == 2
