"""Parts that fail: each fault is injected, and the server goes on."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from ortools.sat.python import cp_model
from starlette.testclient import TestClient

from api.app import create_app
from api.settings import Settings
from solver.model import Stopper
from tests.api.racks import RACK

Problem = Callable[..., dict[str, Any]]
Solve = Callable[[Stopper, cp_model.CpSolver, cp_model.CpModel], cp_model.CpSolverStatus]
SOLVE = Stopper.solve
BODY = {"rack": RACK, "round": "first_right", "card": "small"}
RECORD = {
    "rack": RACK,
    "card": "small",
    "exchanges": [{"round": "first_right", "given": "1d E W", "received": "3b 9c N"}],
}
ASKED = [
    ("/v1/advice", BODY),
    ("/v1/advice", {**BODY, "limits": {"stay": "F F"}}),
    ("/v1/plans", BODY),
    ("/v1/votes", {"rack": RACK, "card": "small", "samples": 4}),
    ("/v1/reviews", {"records": [RECORD]}),
]


def failing(stopper: Stopper, solver: cp_model.CpSolver, model: cp_model.CpModel) -> cp_model.CpSolverStatus:
    raise RuntimeError("out of order")


def refusing(stopper: Stopper, solver: cp_model.CpSolver, model: cp_model.CpModel) -> cp_model.CpSolverStatus:
    huge = [model.new_int_var(-(2**62), 2**62, "") for _ in range(2)]
    model.add(2**61 * huge[0] + 2**61 * huge[1] <= 5)
    return SOLVE(stopper, solver, model)


def idle(stopper: Stopper, solver: cp_model.CpSolver, model: cp_model.CpModel) -> cp_model.CpSolverStatus:
    solver.parameters.max_time_in_seconds = 0.0
    status = SOLVE(stopper, solver, model)
    assert status == cp_model.UNKNOWN
    return status


@pytest.fixture
def served() -> Iterator[TestClient]:
    with TestClient(create_app(Settings(threads=1, queue=0))) as client:
        yield client


@pytest.mark.parametrize(("path", "body"), ASKED)
@pytest.mark.parametrize("fault", [failing, refusing])
def test_a_solver_that_fails(
    served: TestClient,
    problem: Problem,
    monkeypatch: pytest.MonkeyPatch,
    fault: Solve,
    path: str,
    body: dict[str, Any],
) -> None:
    with monkeypatch.context() as patched:
        patched.setattr(Stopper, "solve", fault)
        problem(served.post(path, json=body), "internal")
    # The only thread there is, is free again.
    assert served.post(path, json=body).status_code == 200


def test_a_solver_that_reaches_nothing_claims_nothing(
    served: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    best = served.post("/v1/advice", json=BODY).json()
    monkeypatch.setattr(Stopper, "solve", idle)
    response = served.post("/v1/advice", json=BODY)
    assert response.status_code == 200, "the best pass that was known without it"
    answer = response.json()
    proof = answer["proof"]
    assert proof["status"] == "feasible"
    assert len(answer["pass"]) == 3
    assert proof["bound"] > best["expected_hands"] + proof["resolution"], "nothing was proved of any pass"
    assert proof["gap"] == pytest.approx(proof["bound"] - answer["expected_hands"])


def test_a_plan_of_a_solver_that_reaches_nothing(
    served: TestClient, problem: Problem, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patched:
        patched.setattr(Stopper, "solve", idle)
        problem(served.post("/v1/plans", json=BODY), "no-answer")
    assert served.post("/v1/plans", json=BODY).status_code == 200


def test_memory_that_runs_out_in_a_thread(
    served: TestClient, problem: Problem, monkeypatch: pytest.MonkeyPatch
) -> None:
    def exhausted(*_: object) -> None:
        raise MemoryError

    with monkeypatch.context() as patched:
        patched.setattr("api.routes.advice.advise", exhausted)
        problem(served.post("/v1/advice", json=BODY), "internal")
    assert served.post("/v1/advice", json=BODY).status_code == 200
