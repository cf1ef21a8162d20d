"""Workers: however many there are, and wherever they are, the files are the same."""

import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from clients.cli.sheets import workers
from clients.cli.transport import Reply

Make = Callable[..., tuple[Result, dict[str, bytes]]]
ASKED = ("--seed", "5", "--count", "5", "--difficulty", "close", "--formats", "json,csv,html")
CLUSTER = """
import subprocess, sys
from distributed import LocalCluster

if __name__ == "__main__":
    with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster:
        done = subprocess.run([*sys.argv[1:], "--dask", cluster.scheduler_address])
    sys.exit(done.returncode)
"""


def results(files: dict[str, bytes]) -> dict[str, bytes]:
    """Return the files without the answers as they came, whose order is that of the workers."""
    return {name: content for name, content in files.items() if name != "answers.jsonl"}


@pytest.mark.long
def test_two_processes_make_what_one_makes(make: Make, command: str, tmp_path: Path) -> None:
    alone, expected = make(*ASKED)
    assert alone.exit_code == 0
    out = tmp_path / "two"
    asked = [command, "sheet", "--card", "small", *ASKED, "--jobs", "2", "--out", str(out)]
    done = subprocess.run(asked, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr and "destroyed" not in done.stderr
    made = {path.name: path.read_bytes() for path in out.iterdir()}
    assert results(made) == results(expected)
    # One may have gone further than the other before there was enough.
    kept = set(made["answers.jsonl"].splitlines())
    assert kept >= set(expected["answers.jsonl"].splitlines())


@pytest.mark.long
def test_a_cluster_of_two_makes_what_one_process_makes(make: Make, command: str, tmp_path: Path) -> None:
    pytest.importorskip("distributed", exc_type=ImportError)
    alone, expected = make(*ASKED)
    assert alone.exit_code == 0
    out, script = tmp_path / "dask", tmp_path / "cluster.py"
    script.write_text(CLUSTER, encoding="utf-8")
    asked = [sys.executable, str(script), command, "sheet", "--card", "small", *ASKED, "--out", str(out)]
    done = subprocess.run(asked, capture_output=True, text=True, check=False, timeout=300)
    assert done.returncode == 0, done.stderr
    assert results({path.name: path.read_bytes() for path in out.iterdir()}) == results(expected)


@pytest.mark.long
def test_no_cluster(command: str, tmp_path: Path, free_port: Callable[[], int]) -> None:
    pytest.importorskip("distributed", exc_type=ImportError)
    address = f"tcp://127.0.0.1:{free_port()}"
    asked = [command, "sheet", "--seed", "1", "--dask", address, "--out", str(tmp_path / "out")]
    done = subprocess.run(asked, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (3, "")
    assert done.stderr.splitlines()[-1].startswith(f"no Dask cluster at {address}: ")


def test_without_the_package_for_clusters(make: Make, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    result, _ = make("--seed", "1", "--dask", "tcp://127.0.0.1:1")
    assert result.exit_code == 2
    assert "install threepass[cluster]" in result.stderr


def test_a_worker_that_reaches_no_service_says_so(
    monkeypatch: pytest.MonkeyPatch, free_port: Callable[[], int]
) -> None:
    monkeypatch.setattr(workers, "_mine", type("Mine", (), {})())
    monkeypatch.setattr(workers.signal, "signal", lambda *_: None)
    opened = []
    monkeypatch.setattr(workers.atexit, "register", lambda close, *given: opened.append((close, given)))
    url = f"http://127.0.0.1:{free_port()}"
    try:
        task, said = workers.answer(3, b"{}", url)
        again = workers.answer(4, b"{}", url)
    finally:
        for close, given in opened:
            close(*given)
    assert task == 3
    assert not isinstance(said, Reply) and said[0].startswith(f"no answer from {url}: ")
    assert not isinstance(again[1], Reply)
    assert len(opened) == 1


def test_a_service_that_goes_away_ends_the_work(make: Make, monkeypatch: pytest.MonkeyPatch) -> None:
    from clients.cli.sheets import making

    monkeypatch.setattr(making, "alone", lambda _: lambda tasks: ((task, ("gone",)) for task, _ in tasks))
    result, files = make("--seed", "1")
    assert (result.exit_code, result.stderr, files) == (3, "gone\n", {})


def test_processes_are_not_waited_for_inside_the_lock_of_their_executor(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """An interruption hung: the thread that was waited for wanted the lock to hand out one more task."""
    from joblib.externals.loky import process_executor, reusable_executor

    free: list[bool] = []
    original = process_executor.ProcessPoolExecutor.shutdown

    def shutdown(self: Any, **how: Any) -> None:
        def take() -> None:
            lock = reusable_executor._executor_lock
            free.append(lock.acquire(timeout=2))
            if free[-1]:
                lock.release()

        other = threading.Thread(target=take)
        other.start()
        other.join()
        original(self, **how)

    monkeypatch.setattr(process_executor.ProcessPoolExecutor, "shutdown", shutdown)
    reusable_executor.get_reusable_executor(max_workers=2, timeout=3)
    with workers.together(None, 2):
        pass
    assert free == [True]
