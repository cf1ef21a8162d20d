"""Stoppers: who asks one is told why the work is to end, and only in its own thread."""

from collections.abc import Callable
from threading import Thread

import pytest

from patterns.card_file import read_draft
from patterns.rack import Rack
from patterns.stopping import End, StoppedError, Stopper, check_stop, current_stopper
from solver.plan import plan
from solver.rounds import Round
from solver.situation import Question
from tests.benchmarks.hostile import SPREAD, doubles, many, singles

DEAR = [
    Question(read_draft(written).card(), Rack(SPREAD), Round.FIRST_RIGHT)
    for written in (singles(20), doubles(20))
]


def ended(work: Callable[[], object] = check_stop) -> End | None:
    try:
        work()
    except StoppedError as error:
        return error.end
    return None


def test_without_a_stopper_nothing_ends() -> None:
    check_stop()
    assert current_stopper().left == float("inf")


def test_the_first_reason_is_the_one_that_is_told() -> None:
    stopper = Stopper()
    with stopper.running():
        assert ended() is None
        stopper.stop(End.CLOSING)
        stopper.stop(End.GONE)
        assert ended() is End.CLOSING
    check_stop()


def test_when_its_time_is_over() -> None:
    with Stopper().running(-1):
        assert ended() is End.TIME
    with Stopper().running(600):
        assert ended() is None
        assert 0 < current_stopper().left < 600


def test_a_part_has_a_time_of_its_own() -> None:
    stopper = Stopper()
    with stopper.running():
        with stopper.running(-1):
            assert ended() is End.TIME
        assert ended() is None
        stopper.stop()
        with stopper.running(600):
            assert ended() is End.GONE


def test_it_is_that_of_its_thread_alone() -> None:
    found: list[End | None] = []
    with Stopper().running(-1):
        thread = Thread(target=lambda: found.append(ended()))
        thread.start()
        thread.join()
    assert found == [None]


def test_what_asks_nobody_is_reached_by_a_call() -> None:
    stopper, calls = Stopper(), list[str]()

    def step() -> None:
        with stopper.reaching(lambda: calls.append("stop")):
            stopper.stop()
            calls.append("the step goes on")

    assert ended(step) is End.GONE
    assert calls == ["stop", "the step goes on"]
    assert ended(step) is End.GONE
    assert len(calls) == 2, "a step is not begun once the work is to end"


class Patient(Stopper):
    """Ends the work when it was asked so often."""

    def __init__(self, times: int) -> None:
        super().__init__()
        self.times = times

    def check(self) -> None:
        self.times -= 1
        if not self.times:
            self.stop()
        super().check()


@pytest.mark.parametrize("times", [1, 2, 50])
@pytest.mark.parametrize(
    "work", [lambda: read_draft(many(3)), lambda: plan(DEAR[0], 3), lambda: plan(DEAR[1], 3)]
)
def test_long_work_asks_often(work: Callable[[], object], times: int) -> None:
    with Patient(times).running(), pytest.raises(StoppedError):
        work()
