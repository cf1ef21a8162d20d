import os
import signal
from pathlib import Path

import pytest
import uvicorn
from uvicorn.config import STARTUP_FAILURE
from uvicorn.supervisors import Multiprocess

import api.server
from api.app import create_app
from api.observe import FOLDER
from api.server import serve
from api.settings import FaultySettingsError, Settings


@pytest.fixture
def ran(monkeypatch: pytest.MonkeyPatch) -> list[uvicorn.Config]:
    """Stand in for the server, which tests of the command run for real; return what it was told."""
    told: list[uvicorn.Config] = []
    monkeypatch.setattr("api.server._run", told.append)
    monkeypatch.setattr("api.server.log_config", lambda _: None)
    monkeypatch.delenv("THREEPASS_THREADS", raising=False)
    return told


def test_what_the_server_is_told(ran: list[uvicorn.Config]) -> None:
    serve("127.0.0.1", 8123)
    (told,) = ran
    assert (told.host, told.port, told.workers) == ("127.0.0.1", 8123, 1)
    module, _, name = str(told.app).partition(":")
    assert told.factory is True
    assert (module, name) == (create_app.__module__, create_app.__name__)


def test_running_requests_get_longer_than_any_may_send_and_wait(ran: list[uvicorn.Config]) -> None:
    serve("127.0.0.1", 8123)
    grace = ran[0].timeout_graceful_shutdown
    assert grace is not None and grace > Settings().longest_sending + Settings().longest_wait


def test_processes_share_the_cores(ran: list[uvicorn.Config], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("os.sched_getaffinity", lambda _: set(range(8)), raising=False)
    threads = []
    monkeypatch.setattr("api.server._run", lambda _: threads.append(Settings.from_environment().threads))
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


def test_sigterm_ends_with_0_and_only_while_it_serves(
    ran: list[uvicorn.Config], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = signal.getsignal(signal.SIGTERM)
    monkeypatch.setattr("api.server._run", lambda _: signal.raise_signal(signal.SIGTERM))
    with pytest.raises(SystemExit) as ended:
        serve("127.0.0.1", 8123)
    assert ended.value.code == 0
    assert signal.getsignal(signal.SIGTERM) is before


@pytest.mark.parametrize(("metrics", "workers", "shared"), [("1", 2, True), ("1", 1, False), ("0", 2, False)])
def test_processes_share_a_folder_for_metrics(
    ran: list[uvicorn.Config], monkeypatch: pytest.MonkeyPatch, metrics: str, workers: int, shared: bool
) -> None:
    folders = []
    monkeypatch.setattr("api.server._run", lambda _: folders.append(os.environ.get(FOLDER)))
    monkeypatch.setenv("THREEPASS_METRICS", metrics)
    monkeypatch.setenv("THREEPASS_THREADS", "2")
    monkeypatch.delenv(FOLDER, raising=False)
    serve("127.0.0.1", 8123, workers=workers)
    (folder,) = folders
    assert (folder is not None) == shared
    assert folder is None or not Path(folder).exists(), "it is gone when the server is"
    assert FOLDER not in os.environ


def test_nowhere_to_share_metrics(ran: list[uvicorn.Config], monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(**_: object) -> None:
        raise FileNotFoundError

    monkeypatch.setattr("api.server.TemporaryDirectory", fail)
    monkeypatch.setenv("THREEPASS_METRICS", "1")
    monkeypatch.setenv("THREEPASS_THREADS", "2")
    monkeypatch.delenv(FOLDER, raising=False)
    with pytest.raises(FaultySettingsError, match="TMPDIR"):
        serve("127.0.0.1", 8123, workers=2)
    assert ran == []


def test_a_worker_that_cannot_start_is_no_success(monkeypatch: pytest.MonkeyPatch) -> None:
    class Failed:
        exitcode = STARTUP_FAILURE

    def run(workers: Multiprocess) -> None:
        workers.processes = [Failed()]  # type: ignore[list-item]

    monkeypatch.setattr(Multiprocess, "__init__", lambda *_: None)
    monkeypatch.setattr(Multiprocess, "run", run)
    with pytest.raises(SystemExit) as ended:
        api.server._Workers(uvicorn.Config("a:b", log_config=None), []).run()
    assert ended.value.code == STARTUP_FAILURE
