import asyncio
from typing import Any

import pytest

from clients.cli.lifespan import Lifespan, Message, Receive, Send


def test_the_app_starts_serves_with_its_state_and_stops() -> None:
    events: list[Any] = []

    async def app(scope: Message, receive: Receive, send: Send) -> None:
        if scope["type"] == "http":
            events.append(dict(scope["state"]))
            return
        for what in ("startup", "shutdown"):
            assert (await receive())["type"] == f"lifespan.{what}"
            scope["state"]["made"] = "once"
            events.append((what, asyncio.current_task()))
            await send({"type": f"lifespan.{what}.complete"})

    async def nothing(*_: Any) -> Any:
        raise AssertionError

    lifespan = Lifespan(app)
    with asyncio.Runner() as runner:
        runner.run(lifespan.start())
        runner.run(lifespan.serve({"type": "http"}, nothing, nothing))
        runner.run(lifespan.stop())
        runner.run(lifespan.stop())  # again does nothing
    assert events[1] == {"made": "once"}
    assert [events[0][0], events[2][0]] == ["startup", "shutdown"]
    assert events[0][1] is events[2][1], "what one task opens, the same task closes"


@pytest.mark.parametrize("reports", [True, False])
def test_a_start_that_fails_is_not_waited_for(reports: bool) -> None:
    async def app(_: Message, receive: Receive, send: Send) -> None:
        await receive()
        if reports:
            await send({"type": "lifespan.startup.failed", "message": "no card"})
        raise OSError("no card")

    with asyncio.Runner() as runner, pytest.raises(RuntimeError, match=r"startup: .*no card"):
        runner.run(Lifespan(app).start())
