"""How long an answer takes, here and in another checkout side by side, and what it walks through.

Run: python -m tests.benchmarks.bench_advice [--racks N] [--plans N] [--votes N] [--against CHECKOUT] [--cpu]

Prints Markdown. One worker a checkout, each with the same card (this checkout's full one) and the same racks
in turn, so that a busy machine slows both alike; each rack is new to both. Cold starts take turns too. With
``--cpu`` the times are those of the processor, which a busy machine changes less. The walk of a warm command
counts the product's own files and functions, by `sys.setprofile` in every thread.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import random
import subprocess
import sys
from pathlib import Path
from time import perf_counter

import numpy as np

from patterns.rack import Rack
from patterns.tiles import KINDS

SEED = 20_251_127
WALL = [tile for tile in KINDS for _ in range(tile.copies)]
COLD_RACK = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"
COLD_STARTS = 12
WARM_UP = {"solve": 30, "request": 30, "plan": 1, "vote": 2}
HERE = Path(__file__).parents[2]
CARD = HERE / "patterns/cards/full.toml"
STEPS = {
    "solve": "question to answer (`advise`)",
    "request": "whole request, JSON in and out",
    "plan": "plan of three rounds",
    "vote": "vote, default samples at most",
}

# Runs in any checkout that has these operations. A line in is a step and a rack; a line out, seconds.
WORKER = """
import json, sys, threading, tomllib
from pathlib import Path
from time import perf_counter, process_time
from patterns.card_file import card_from_toml
from solver.advice import advise
from solver.plan import plan
from solver.rounds import Round
from importlib import import_module

def either(name, *modules):
    for module in modules:
        try:
            return getattr(import_module(module), name)
        except (ImportError, AttributeError):
            pass

parse_rack = either("parse_rack", "patterns.rack", "patterns.rack" "_text")
Question = either("Question", "solver.situation", "solver" ".question")

path = Path(sys.argv[1])
text = path.read_text()
card, body = card_from_toml(text, "card"), tomllib.loads(text)
clock = process_time if sys.argv[2] == "cpu" else perf_counter
client = None

def solve(rack):
    answer = advise(Question(card, parse_rack(rack), Round.FIRST_RIGHT))
    return tuple(answer.hands[:3])

def request(rack):
    global client
    if client is None:
        from starlette.testclient import TestClient
        from api.http.app import create_app
        client = TestClient(create_app(), "http://127.0.0.1")
        client.__enter__()
    wanted = {"rack": rack, "round": "first_right", "card": body}
    assert client.post("/v1/advice", json=wanted).status_code == 200

def walk(rack):
    from clients.cli.main import main
    sys.argv = ["threepass", "advise", rack, "--round", "first-right", "--card", str(path)]
    files, functions = set(), set()
    def seen(frame, event, _):
        code = frame.f_code
        if event == "call" and code.co_filename.startswith(str(Path.cwd())) and code.co_name[0] != "<":
            files.add(code.co_filename)
            functions.add((code.co_filename, code.co_qualname))
    sys.stdout = open("/dev/null", "w")
    for turn in range(2):
        if turn:
            threading.setprofile(seen)
            sys.setprofile(seen)
        try:
            main()
        except SystemExit:
            pass
    sys.setprofile(None)
    threading.setprofile(None)
    sys.stdout = sys.__stdout__
    return sorted(str(Path(file).relative_to(Path.cwd())) for file in files), len(functions)

def ahead(rack):
    return plan(Question(card, parse_rack(rack), Round.FIRST_RIGHT), 3)

def ballot(rack):
    from solver.ahead import DEFAULT_SAMPLES, vote
    question = Question(card, parse_rack(rack), Round.SECOND_LEFT)
    return vote(question, courtesy=2, samples=DEFAULT_SAMPLES, seed=0)

steps = {"solve": solve, "request": request, "plan": ahead, "vote": ballot}
for line in sys.stdin:
    step, rack = line.rstrip().split("|")
    if step == "walk":
        print(json.dumps(walk(rack)), flush=True)
        continue
    begun = clock()
    steps[step](rack)
    print(clock() - begun, flush=True)
"""


def environment(checkout: Path) -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(checkout), "OPENBLAS_NUM_THREADS": "1"}


class Worker:
    def __init__(self, checkout: Path, clock: str) -> None:
        self.checkout = checkout
        self._process = subprocess.Popen(
            [sys.executable, "-c", WORKER, str(CARD), clock],
            cwd=checkout,
            env=environment(checkout),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def ask(self, step: str, rack: str) -> str:
        assert self._process.stdin is not None and self._process.stdout is not None
        self._process.stdin.write(f"{step}|{rack}\n")
        self._process.stdin.flush()
        return self._process.stdout.readline()

    def seconds(self, step: str, rack: str) -> float:
        return float(self.ask(step, rack))


def cold_start(checkout: Path, cpu: bool) -> float:
    """Return the seconds of the command from nothing to its answer."""
    command = "from clients.cli.main import main; main()"
    run = [sys.executable, "-c", command, "advise", COLD_RACK, "--round", "first-right"]
    before, begun = os.times(), perf_counter()
    subprocess.run(run, capture_output=True, check=True, cwd=checkout, env=environment(checkout))
    after = os.times()
    spent = after.children_user + after.children_system - before.children_user - before.children_system
    return spent if cpu else perf_counter() - begun


def row(step: str, times: list[list[float]]) -> str:
    """Return a line of the table: times here, and beside those of the other checkout."""
    here = 1e3 * np.array(times[0])
    cells = [f"{np.median(here):.1f}", f"{np.percentile(here, 95):.1f}"]
    if len(times) > 1:
        other = 1e3 * np.array(times[1])
        cells += [f"{np.median(other):.1f}", f"{np.percentile(other, 95):.1f}"]
        cells += [f"{np.median(here) / np.median(other):.2f}"]
        cells += [f"{np.percentile(here, 95) / np.percentile(other, 95):.2f}"]
    return f"| {step} | {len(here)} | " + " | ".join(cells) + " |"


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--racks", type=int, default=200)
    parser.add_argument("--plans", type=int, default=0, help="racks to plan three rounds for")
    parser.add_argument("--votes", type=int, default=0, help="racks to vote on")
    parser.add_argument("--against", type=Path)
    parser.add_argument("--cpu", action="store_true")
    asked = parser.parse_args()
    checkouts = [HERE, *([asked.against.resolve()] if asked.against else [])]
    workers = [Worker(checkout, "cpu" if asked.cpu else "wall") for checkout in checkouts]
    rnd = random.Random(SEED)
    times: dict[str, list[list[float]]] = {}
    sizes = {"solve": asked.racks, "request": asked.racks, "plan": asked.plans, "vote": asked.votes}
    for step, count in sizes.items():
        for number in range(count + WARM_UP[step] if count else 0):
            rack = " ".join(tile.value for tile in Rack(tuple(rnd.sample(WALL, 14))).tiles)
            order = list(enumerate(workers))[:: 1 if number % 2 else -1]
            for place, worker in order:
                seconds = worker.seconds(step, rack)
                if number >= WARM_UP[step]:
                    times.setdefault(step, [[] for _ in workers])[place].append(seconds)
    cold: list[list[float]] = [[] for _ in workers]
    for _ in range(COLD_STARTS):
        for place, checkout in enumerate(checkouts):
            cold[place].append(cold_start(checkout, asked.cpu))
    clock = "processor time" if asked.cpu else "time"
    print(f"Python {platform.python_version()}, seed {SEED}, {CARD.stem} card; {clock} in ms.\n")
    there = ["p50 there", "p95 there", "p50 ratio", "p95 ratio"] * (len(workers) - 1)
    titles = ["step", "runs", "p50", "p95", *there]
    print("| " + " | ".join(titles) + " |\n|" + "---|" * len(titles))
    for step, of_step in times.items():
        print(row(STEPS[step], of_step))
    print(row("cold start of the command", cold))
    for worker in workers:
        files, functions = json.loads(worker.ask("walk", COLD_RACK))
        where = "here" if worker.checkout == HERE else "there"
        print(f"\nA warm `advise` {where}: {len(files)} files, {functions} functions.")
        print("Files: " + ", ".join(files), file=sys.stderr)


if __name__ == "__main__":
    main()
