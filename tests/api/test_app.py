import json
import subprocess
import sys
from pathlib import Path

from fastapi.testclient import TestClient
from threadpoolctl import threadpool_info

from api.app import create_app

ROOT = Path(__file__).parents[2]


def state() -> tuple[list[int], float]:
    """Return how many cores a product of matrices may have, and the seconds of a thread's turn."""
    blas = [pool["num_threads"] for pool in threadpool_info() if pool["user_api"] == "blas"]
    return blas, round(sys.getswitchinterval(), 5)


def before_while_and_after() -> None:
    before = state()
    with TestClient(create_app()):
        running = state()
    print(json.dumps([before, running, state()]))


def test_while_it_runs_an_answer_has_one_core_and_its_thread_gives_way() -> None:
    # In a process of its own: here other tests may have an app that runs all the while.
    code = "from tests.api.test_app import before_while_and_after as told; told()"
    result = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    before, running, after = json.loads(result.stdout)
    assert before[0] and running[0] == [1] * len(before[0])
    assert running[1] < before[1]
    assert after == before
