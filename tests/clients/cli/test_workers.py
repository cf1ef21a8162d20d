"""Who answers the tasks of a sheet: many processes that end with the first one, a cluster, or nobody."""

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import psutil
import pytest
import yaml

from clients.cli import batch
from clients.cli.output import Exit, Failure
from clients.cli.service import Service
from tests.benchmarks.serving import ended, free_port, until
from tests.clients.conftest import Make
from tests.clients.laps import OTHER, RACK

ASKED = ("--seed", "5", "--count", "5", "--difficulty", "close", "--formats", "json,csv,html")
COMPOSE = Path(__file__).parents[3] / ".container" / "compose.yml"


def made_in(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def children_of(process: "subprocess.Popen[bytes]", least: int) -> list[psutil.Process]:
    """Wait until a command has started so many processes, and return them."""
    found: list[psutil.Process] = []

    def started() -> bool:
        with suppress(psutil.NoSuchProcess):
            found[:] = psutil.Process(process.pid).children()
        return len(found) >= least

    assert until(started)
    return found


@pytest.fixture
def begun(command: str, tmp_path: Path) -> Iterator["subprocess.Popen[bytes]"]:
    """A sheet that two workers will long be busy with."""
    asked = ["sheet", "--card", "full", "--seed", "1", "--count", "500", "--formats", "json", "--jobs", "2"]
    process = subprocess.Popen(
        [command, *asked, "--out", str(tmp_path / "out")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )
    try:
        yield process
    finally:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGKILL])
def test_workers_end_with_whoever_started_them(
    begun: "subprocess.Popen[bytes]", number: signal.Signals
) -> None:
    workers = children_of(begun, 2)
    begun.send_signal(number)
    assert begun.wait() == -number
    assert until(lambda: all(ended(each.pid) for each in workers))


@pytest.mark.parametrize("started", [1, 2])
def test_an_interruption_while_workers_start(begun: "subprocess.Popen[bytes]", started: int) -> None:
    workers = children_of(begun, started)
    os.killpg(begun.pid, signal.SIGINT)
    _, said = begun.communicate()
    assert (begun.returncode, b"Traceback" in said) == (130, False)
    assert said.splitlines()[-1].startswith(b"interrupted: 0 answers kept")
    assert until(lambda: all(ended(each.pid) for each in workers))


@pytest.mark.long
def test_two_processes_make_what_one_makes_also_when_a_worker_is_killed(
    make: Make, command: str, tmp_path: Path
) -> None:
    alone, expected = make(*ASKED)
    assert alone.exit_code == 0
    out = tmp_path / "two"
    asked = [command, "sheet", "--card", "small", *ASKED, "--jobs", "2", "--out", str(out)]
    process = subprocess.Popen(asked, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    children_of(process, 1)[0].kill()
    _, said = process.communicate()
    told, *rest = said.decode().splitlines()
    assert told == "a worker has ended (exit code -9): its task goes to another"
    assert process.returncode == 0 and all(line.endswith("deals tried") for line in rest)
    assert made_in(out) == expected


def test_a_task_that_ends_every_worker_is_given_up(monkeypatch: pytest.MonkeyPatch, capfd: Any) -> None:
    monkeypatch.setattr(sys, "executable", "/bin/false")
    with batch.workers(Service(None), 2, None) as answering, pytest.raises(Failure) as caught:
        list(answering([(7, "/v1/sheets", b"{}")]))
    assert (caught.value.exit_code, *caught.value.lines) == (
        Exit.UNREACHABLE,
        "a worker has ended (exit code 1), like others that had the same task: is there enough memory?",
    )
    assert capfd.readouterr().err == "a worker has ended (exit code 1): its task goes to another\n" * 2


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[str]:
    """The address of a scheduler with two workers, started as in the compose file, but on this machine."""
    pytest.importorskip("distributed", exc_type=ImportError)
    services = yaml.safe_load(COMPOSE.read_text(encoding="utf-8"))["services"]
    port = str(free_port())
    here = {"8786": port, "tcp://scheduler:8786": f"tcp://127.0.0.1:{port}", "/tmp": str(tmp_path / "dask")}
    started = []
    try:
        for name in ("scheduler", "worker", "worker"):
            _, *module = services[name]["entrypoint"]
            arguments = [here.get(each, each) for each in services[name]["command"]]
            started.append(subprocess.Popen([sys.executable, *module, *arguments], stderr=subprocess.DEVNULL))
        assert until(lambda: listens(int(port)))
        yield here["tcp://scheduler:8786"]
    finally:
        for process in reversed(started):
            process.terminate()
            process.wait(timeout=60)


def listens(port: int) -> bool:
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


@pytest.mark.long
def test_a_cluster_of_two_makes_what_one_process_makes(
    make: Make, command: str, cluster: str, tmp_path: Path
) -> None:
    racks = tmp_path / "racks.txt"
    racks.write_text(f"{RACK}\n{OTHER}\n" * 3, encoding="utf-8")
    own = ("--racks", str(racks), "--round", "courtesy", "--formats", "json,csv,html")
    for name, of in (("own", own), ("dealt", ASKED)):
        alone, expected = make(*of, out=f"{name} alone")
        assert alone.exit_code == 0
        asked = [command, "sheet", "--card", "small", *of, "--dask", cluster, "--out", str(tmp_path / name)]
        done = subprocess.run(asked, capture_output=True, text=True, check=False, timeout=300)
        assert done.returncode == 0, done.stderr
        assert made_in(tmp_path / name) == expected


def test_without_the_package_for_clusters(make: Make, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    result, _ = make("--seed", "1", "--dask", "tcp://127.0.0.1:1")
    assert result.exit_code == 2
    assert "install threepass[cluster]" in result.stderr
