from typing import Any

import pytest

from api.app import create_app
from api.server import serve
from api.settings import FaultySettingsError, Settings


@pytest.fixture
def ran(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """Stand in for the server, which a test of the command runs for real; return what it was told."""
    told: list[dict[str, Any]] = []
    monkeypatch.setattr("api.server.uvicorn.run", lambda app, **options: told.append({"app": app, **options}))
    monkeypatch.delenv("THREEPASS_THREADS", raising=False)
    return told


def test_what_the_server_is_told(ran: list[dict[str, Any]]) -> None:
    serve("127.0.0.1", 8123)
    (told,) = ran
    assert (told["host"], told["port"], told["workers"]) == ("127.0.0.1", 8123, 1)
    module, _, name = told["app"].partition(":")
    assert told["factory"] is True
    assert (module, name) == (create_app.__module__, create_app.__name__)


def test_running_requests_get_longer_than_any_may_wait(ran: list[dict[str, Any]]) -> None:
    serve("127.0.0.1", 8123)
    assert ran[0]["timeout_graceful_shutdown"] > Settings().longest_wait


def test_processes_share_the_cores(ran: list[dict[str, Any]], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("os.sched_getaffinity", lambda _: set(range(8)), raising=False)
    threads = []
    monkeypatch.setattr(
        "api.server.uvicorn.run", lambda *_, **__: threads.append(Settings.from_environment().threads)
    )
    monkeypatch.setenv("THREEPASS_THREADS", "8")
    serve("127.0.0.1", 8123, workers=4)
    monkeypatch.delenv("THREEPASS_THREADS")
    serve("127.0.0.1", 8123, workers=3)
    assert threads == [8, 2]


def test_faulty_settings_are_told_before_anything_runs(
    ran: list[dict[str, Any]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("THREEPASS_GRACE", "long")
    with pytest.raises(FaultySettingsError, match="THREEPASS_GRACE"):
        serve("127.0.0.1", 8123)
    assert ran == []
