from threading import Thread
from time import sleep

import pytest
from ortools.sat.python import cp_model

from solver.stopping import FaultyModelError, StoppedError, Stopper


def hard_model() -> cp_model.CpModel:
    """Return a model that takes very long: a pigeonhole problem in disguise."""
    model = cp_model.CpModel()
    holes = 13
    placed = [[model.new_bool_var("") for _ in range(holes)] for _ in range(holes + 1)]
    for pigeon in placed:
        model.add_bool_or(pigeon)
    for hole in range(holes):
        for first in range(holes + 1):
            for second in range(first):
                model.add_bool_or([placed[first][hole].Not(), placed[second][hole].Not()])
    return model


def plain_solver() -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.symmetry_level = 0
    solver.parameters.cp_model_presolve = False
    solver.parameters.linearization_level = 0
    solver.parameters.max_deterministic_time = 60
    return solver


def test_nothing_is_stopped_unasked() -> None:
    stopper = Stopper()
    stopper.check()
    model = cp_model.CpModel()
    model.add(model.new_int_var(0, 3, "") >= 2)
    assert stopper.solve(plain_solver(), model) == cp_model.OPTIMAL


def test_a_stop_before_the_solve_is_not_forgotten() -> None:
    stopper = Stopper()
    stopper.stop()
    stopper.stop()
    with pytest.raises(StoppedError):
        stopper.check()
    with pytest.raises(StoppedError):
        stopper.solve(plain_solver(), cp_model.CpModel())


def test_a_stop_reaches_a_running_solve() -> None:
    """The solve ends by the stop, not by its cap of work."""
    stopper, solver = Stopper(), plain_solver()
    model, caught = hard_model(), []

    def run() -> None:
        try:
            stopper.solve(solver, model)
        except StoppedError as error:
            caught.append(error)

    thread = Thread(target=run)
    thread.start()
    sleep(0.3)
    assert thread.is_alive()
    stopper.stop()
    thread.join()
    assert caught
    assert solver.response_proto.deterministic_time < 60


def test_a_model_that_is_not_taken_is_a_defect() -> None:
    model = cp_model.CpModel()
    model.add(model.new_int_var(-(2**62), 2**62, "") * 2**61 <= 5)
    with pytest.raises(FaultyModelError, match="domain"):
        Stopper().solve(plain_solver(), model)
