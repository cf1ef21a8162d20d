import pytest
import uvicorn

from api.http.server import serve
from api.settings import FaultySettingsError, Settings


@pytest.fixture
def ran(monkeypatch: pytest.MonkeyPatch) -> list[uvicorn.Config]:
    """Stand in for the server, which tests of the command run for real; return what it was told."""
    told: list[uvicorn.Config] = []
    monkeypatch.setattr("api.http.server._run", told.append)
    monkeypatch.setattr("api.http.server.log_config", lambda *_: None)
    monkeypatch.delenv("THREEPASS_THREADS", raising=False)
    return told


def test_processes_share_the_cores(ran: list[uvicorn.Config], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("os.sched_getaffinity", lambda _: set(range(8)), raising=False)
    threads = []
    monkeypatch.setattr("api.http.server._run", lambda _: threads.append(Settings.from_environment().threads))
    monkeypatch.setenv("THREEPASS_THREADS", "8")
    serve("127.0.0.1", 8123, workers=4)
    monkeypatch.delenv("THREEPASS_THREADS")
    serve("127.0.0.1", 8123, workers=3)
    assert threads == [8, 2]


def test_faulty_settings_are_told_before_anything_runs(
    ran: list[uvicorn.Config], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("THREEPASS_GRACE", "long")
    with pytest.raises(FaultySettingsError, match="THREEPASS_GRACE"):
        serve("127.0.0.1", 8123)
    assert ran == []


def test_connections_stay_below_the_descriptors(
    ran: list[uvicorn.Config], monkeypatch: pytest.MonkeyPatch
) -> None:
    limits = iter([(1024, 4096), (1024, 1024), (600, 600), (300, 300)])
    monkeypatch.setattr("resource.getrlimit", lambda _: next(limits))
    asked: list[tuple[int, int]] = []
    monkeypatch.setattr("resource.setrlimit", lambda _, wanted: asked.append(wanted))
    monkeypatch.setenv("THREEPASS_CONNECTIONS", "700")
    for _ in range(3):
        serve("127.0.0.1", 8123)
    assert [config.http.keywords["most"] for config in ran] == [700, 640, 216]
    assert asked[0] == (1084, 4096)
    with pytest.raises(FaultySettingsError, match="descriptors"):
        serve("127.0.0.1", 8123)
