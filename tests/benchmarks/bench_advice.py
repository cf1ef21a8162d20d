"""How long an answer takes, step by step, and against enumerating every pass.

Prints a Markdown table. Warm figures: the full card, 14 random tiles, first right, one question at a
time, on the rack's first visit (nothing of that rack is remembered, though states met in other racks are).

Run: python -m tests.benchmarks.bench_advice [RACKS] [RACKS ENUMERATED ONE BY ONE]
"""

from __future__ import annotations

import platform
import random
import resource
import subprocess
import sys
from pathlib import Path
from statistics import median
from time import perf_counter

import numpy as np
from ortools.sat.python import cp_model
from solver.exact import exact_scores
from solver.problem import problem_of
from starlette.testclient import TestClient

from api.app import create_app
from patterns.card import Card
from patterns.card_file import shipped_card
from patterns.rack import Rack
from patterns.tiles import KINDS
from solver.advice import Advice, advise
from solver.model import Status, Stopper, best_passes
from solver.rounds import Round
from solver.situation import Question, Situation, tables_of
from tests.solver.enumeration import enumerate_passes

SEED = 20_251_125
WALL = [tile for tile in KINDS for _ in range(tile.copies)]
COLD_RACK = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"
COLD_STARTS = 5
WARM_UP = 5
AT_ONCE, ONE_BY_ONE = "enumeration, all passes at once", "enumeration, pass by pass"


class TimedStopper(Stopper):
    """Adds up the time spent inside CP-SAT."""

    def __init__(self) -> None:
        super().__init__()
        self.seconds = 0.0

    def solve(self, solver: cp_model.CpSolver, model: cp_model.CpModel) -> cp_model.CpSolverStatus:
        begun = perf_counter()
        try:
            return super().solve(solver, model)
        finally:
            self.seconds += perf_counter() - begun


class Times:
    """Seconds by step."""

    def __init__(self) -> None:
        self.of: dict[str, list[float]] = {}

    def add(self, step: str, seconds: float) -> None:
        self.of.setdefault(step, []).append(seconds)

    def row(self, step: str) -> str:
        times = np.array(self.of[step]) * 1e3
        return f"| {step} | {len(times)} | {np.median(times):.1f} | {np.percentile(times, 95):.1f} |"


def compile_card(times: Times) -> Card:
    """Read, expand and tabulate the full card ten times; return the last."""
    for _ in range(10):
        begun = perf_counter()
        card = shipped_card("full")
        tables_of(card)
        times.add("compile the card", perf_counter() - begun)
    return card


def steps(question: Question, times: Times) -> None:
    """Time the parts of an answer on a rack not met before."""
    tables = tables_of(question.card)
    situation: Situation = question.situation
    begun = perf_counter()
    situation.reach(tables, situation.held)
    times.add("reach of all targets, whole rack", perf_counter() - begun)
    begun = perf_counter()
    problem = problem_of(question)
    times.add("reach after every loss, options", perf_counter() - begun)
    stopper = TimedStopper()
    begun = perf_counter()
    first = next(best_passes(problem, 1, question.effort, stopper))
    whole = perf_counter() - begun
    assert first.status is Status.OPTIMAL
    times.add("bounds and model, best pass", whole - stopper.seconds)
    times.add("CP-SAT, best pass", stopper.seconds)
    stopper = TimedStopper()
    begun = perf_counter()
    list(best_passes(problem, question.alternatives + 1, question.effort, stopper))
    whole = perf_counter() - begun
    times.add("bounds and model, best three", whole - stopper.seconds)
    times.add("CP-SAT, best three", stopper.seconds)


def whole(question: Question, times: Times) -> Advice:
    """Time a whole answer on a rack not met before."""
    begun = perf_counter()
    answer = advise(question)
    times.add("whole answer (advise)", perf_counter() - begun)
    assert answer.proof.status is Status.OPTIMAL
    return answer


def requests(racks: list[Rack], times: Times) -> None:
    """Time whole HTTP requests to the service in this process, JSON in and out, one at a time."""
    with TestClient(create_app()) as client:
        for turn, rack in enumerate(racks):
            body = {"rack": [tile.value for tile in rack.tiles], "round": "first_right"}
            begun = perf_counter()
            response = client.post("/v1/advice", json=body)
            if turn >= WARM_UP:
                times.add("whole request", perf_counter() - begun)
            assert response.status_code == 200


def enumerated(question: Question, times: Times) -> float:
    """Time the enumeration of all passes at once by the same reach code; return the best worth."""
    begun = perf_counter()
    worth = enumerate_passes(question).worth(question.limits)
    times.add(AT_ONCE, perf_counter() - begun)
    return max(worth.values())


def enumerated_one_by_one(question: Question, times: Times) -> float:
    """Time the shipped cross-check, which scores pass by pass; return the best worth."""
    begun = perf_counter()
    scores = exact_scores(question)
    times.add(ONE_BY_ONE, perf_counter() - begun)
    return scores[0].expected


def compare(question: Question, times: Times, answer_first: bool, one_by_one: bool) -> None:
    """Time answer and enumeration on one rack, which of them first in turn; check that they agree."""
    best = None if answer_first else enumerated(question, times)
    answer = whole(question, times)
    if best is None:
        best = enumerated(question, times)
    assert abs(best - answer.expected) <= answer.proof.resolution
    if one_by_one:
        best = enumerated_one_by_one(question, times)
        assert abs(best - answer.expected) <= answer.proof.resolution


# Run from a small process of its own: a child's peak memory starts at that of the process it forks from.
MEASURE = """
import resource, subprocess, sys
subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, check=True)
print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
"""


def cold_starts() -> list[str]:
    """Time the command from nothing to an answer, and its memory; return lines to print."""
    command = Path(sys.executable).with_name("threepass")
    if not command.exists():
        return ["- the command is not installed: no cold start"]
    times = Times()
    run = [str(command), "advise", COLD_RACK, "--round", "first-right"]
    for _ in range(COLD_STARTS):
        begun = perf_counter()
        subprocess.run(run, capture_output=True, check=True)
        times.add("cold start of the command, to its answer", perf_counter() - begun)
    measured = subprocess.run([sys.executable, "-c", MEASURE, *run], capture_output=True, check=True)
    return [
        times.row("cold start of the command, to its answer"),
        "",
        f"- resident memory of the command, greatest: {int(measured.stdout) / 1024:.0f} MiB",
    ]


def megabytes() -> float:
    """Return the greatest resident memory in MiB (``ru_maxrss`` is in KiB on Linux)."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def ratio(times: Times, enumeration: str) -> str:
    """Say how an enumeration's time compares with the whole answer's, rack by rack."""
    answers = times.of["whole answer (advise)"]
    ratios = [slow / fast for slow, fast in zip(times.of[enumeration], answers, strict=False)]
    return f"{enumeration}: {median(ratios):.2f} times the whole answer (median of {len(ratios)} racks)"


def main() -> None:
    racks = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    one_by_one = int(sys.argv[2]) if len(sys.argv) > 2 else 20
    rnd = random.Random(SEED)
    times = Times()
    card = compile_card(times)
    for _ in range(10):
        advise(Question(card, Rack(tuple(rnd.sample(WALL, 14))), Round.FIRST_RIGHT))
    for number in range(racks):
        question = Question(card, Rack(tuple(rnd.sample(WALL, 14))), Round.FIRST_RIGHT)
        compare(question, times, number % 2 == 0, number < one_by_one)
        steps(Question(card, Rack(tuple(rnd.sample(WALL, 14))), Round.FIRST_RIGHT), times)
        if number % 20 == 19:
            print(f"{number + 1} of {racks} racks", file=sys.stderr)
    requests([Rack(tuple(rnd.sample(WALL, 14))) for _ in range(WARM_UP + racks)], times)
    own = megabytes()
    cold = cold_starts()
    print(f"Python {platform.python_version()}, {card.target_count} targets, seed {SEED}.\n")
    print("| step | runs | p50, ms | p95, ms |\n|---|---|---|---|")
    for step in times.of:
        print(times.row(step))
    print("\n".join(cold))
    print(f"- {ratio(times, AT_ONCE)}")
    if one_by_one:
        print(f"- {ratio(times, ONE_BY_ONE)}")
    print(f"- resident memory of this process, greatest: {own:.0f} MiB")


if __name__ == "__main__":
    main()
