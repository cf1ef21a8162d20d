"""Stopping a solve from another thread, before or after it has begun."""

from __future__ import annotations

from threading import Lock

from ortools.sat.python import cp_model


class StoppedError(Exception):
    """The work was stopped on request; there is no answer."""


class FaultyModelError(Exception):
    """CP-SAT does not take a model: a defect, never an answer."""


class Stopper:
    """A flag that also reaches a running CP-SAT solve.

    ``CpSolver.stop_search`` does nothing before its solve starts, so the flag is looked at before each.
    """

    def __init__(self) -> None:
        self._lock = Lock()
        self._stopped = False
        self._running: cp_model.CpSolver | None = None

    def stop(self) -> None:
        """Ask for the end of the work; may be called from any thread, more than once."""
        with self._lock:
            self._stopped = True
            if self._running is not None:
                self._running.stop_search()

    def check(self) -> None:
        """Raise if a stop was asked for.

        Raises:
            StoppedError: it was.
        """
        if self._stopped:
            raise StoppedError

    def solve(self, solver: cp_model.CpSolver, model: cp_model.CpModel) -> cp_model.CpSolverStatus:
        """Run one solve that `stop` can reach.

        Raises:
            StoppedError: a stop was asked for before or during the solve.
            FaultyModelError: the model is not valid.
        """
        with self._lock:
            self.check()
            self._running = solver
        try:
            status = solver.solve(model)
        finally:
            with self._lock:
                self._running = None
        self.check()
        if status == cp_model.MODEL_INVALID:
            raise FaultyModelError(model.validate())
        return status
