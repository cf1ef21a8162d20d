"""Requests within every cap that ask for as much as they can, against every operation.

Run: python -m tests.benchmarks.hostile

Each attack has a process of its own. It is asked once as a server is by default, but for its time, as others
may use the machine: what is answered, how soon by the processor's clock, by how much memory. Then, whatever
its price, it is stopped after a second of the processor, as a deadline, a client that leaves and SIGTERM stop
it: how much later does it end? Last, what the practice cards cost. Tables on stdout, progress on stderr; exit
code 1 when a worker takes more than 400 MiB or work goes on for more than half a second.
"""

import argparse
import json
import random
import resource
import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from itertools import islice
from math import inf
from multiprocessing import get_context
from threading import Event, Thread
from time import process_time
from typing import Any

from api.operations import Task, examples
from api.problems import Later, problem_reply
from api.service import Service
from api.settings import Settings
from patterns.stopping import Stopper
from patterns.tiles import DRAGONS, KINDS, WINDS, Tile
from tests.benchmarks.serving import advice_bodies, long_body

MOST_MIB, MOST_LATE = 400.0, 0.5
_ENDLESS, _GLANCE = 1e12, 0.005
_JUNK = "n " * 199


_NATURALS = KINDS[:-1]
# Fourteen tiles of different kinds: every set of three may go, and a target may lose any of them.
SPREAD = _NATURALS[:14]
SPREAD_RACK = " ".join(tile.value for tile in SPREAD)


def group(tile: Tile, count: int) -> str:
    if tile in WINDS or tile in DRAGONS or tile is Tile.FLOWER:
        return f"{tile.name.lower()}*{count}"
    assert tile.suit is not None
    return f"{tile.rank}{tile.suit.name.lower()}*{count}"


def _drawn(draw: Callable[[], str | None], hands: int, alternatives: int) -> dict[str, Any]:
    """Return a card of distinct targets that are drawn until there are enough; None is no target."""
    targets = dict[str, None]()
    while len(targets) < hands * alternatives:
        if (target := draw()) is not None:
            targets[target] = None
    return _written(list(targets), hands)


def _written(targets: list[str], hands: int) -> dict[str, Any]:
    each = iter(targets)
    alternatives = len(targets) // hands
    return {
        "card": {"name": "Dear"},
        "hand": [
            {"name": f"h{index}", "family": "f", "groups": list(islice(each, alternatives))}
            for index in range(hands)
        ],
    }


def singles(hands: int = 300, alternatives: int = 12, seed: int = 1) -> dict[str, Any]:
    """Return a card of singles: each target has twelve of `SPREAD` and two other kinds, so 4,096 losses."""
    chance = random.Random(seed)

    def draw() -> str:
        kinds = {*chance.sample(SPREAD, 12), *chance.sample(_NATURALS[14:], 2)}
        return " ".join(group(tile, 1) for tile in _NATURALS if tile in kinds)

    return _drawn(draw, hands, alternatives)


def doubles(hands: int = 300, alternatives: int = 12, seed: int = 1) -> dict[str, Any]:
    """Return a card whose targets want three kinds both in a pair or single and in a group."""
    chance = random.Random(seed)

    def draw() -> str | None:
        kinds = chance.sample(_NATURALS[:-1], 3)
        plain, groups = [chance.randint(1, 2) for _ in kinds], [3, 3, 3]
        left = 14 - sum(plain) - sum(groups)
        wanted = [(tile, count) for pair in (plain, groups) for tile, count in zip(kinds, pair, strict=True)]
        if left > 0:
            wanted.append((Tile.FLOWER, left))
        return " ".join(group(tile, count) for tile, count in wanted) if left >= 0 else None

    return _drawn(draw, hands, alternatives)


def many(hands: int = 3) -> dict[str, Any]:
    """Return a card of 1,728 targets a hand, from 1,728 choices: the fourth hand would be one too many."""
    wanted = "np*1 (n+5)p*1 nq*1 wind1*1 wind2*3 dragon1*3 dragon2*4"
    return _written([wanted] * hands, hands)


def _racks() -> list[Any]:
    return [json.loads(body)["rack"] for body in advice_bodies(50, "full")]


def _drill(card: object) -> dict[str, Any]:
    """Return a record of twelve courtesy passes back and forth."""
    there, back = " ".join(tile.value for tile in SPREAD[:3]), "W S green"
    passes = [(there, back), (back, there)] * 6
    exchanges = [{"round": "courtesy", "given": given, "received": came} for given, came in passes]
    return {"card": card, "drill": True, "rack": SPREAD_RACK, "exchanges": exchanges}


def _hand(index: int, groups: object) -> dict[str, object]:
    return {"name": f"h{index}", "family": "f", "groups": groups}


def _sheet(problems: int, form: str) -> dict[str, Any]:
    """Return a request for a file of an example, its problem so many times over."""
    asked = next(iter(examples()["sheet_pages"].values()))
    sheet = {**asked["sheet"]}
    for name in ("problems", "key"):
        sheet[name] = [{**sheet[name][0], "number": number} for number in range(1, problems + 1)]
    return {"sheet": sheet, "format": form, "part": "key"}


def attacks() -> dict[str, tuple[str, Any]]:
    """Return the attacks: an address and a body, by name."""
    dear, first = {"card": singles(), "rack": SPREAD_RACK}, {"round": "first_right"}
    never = {"keep_hands": {"count": 300, "reach": 0.99}}
    faulty = {"card": {"name": "f"}, "hand": [_hand(index, [_JUNK] * 8) for index in range(300)]}
    return {
        "advice": ("/v1/advice", {**dear, **first}),
        "advice, four numbers, 10 runner-ups, why": (
            "/v1/advice",
            {**dear, "round": "courtesy", "alternatives": 10, "why": True},
        ),
        "advice, limits that clash": ("/v1/advice", {**dear, **first, "limits": never}),
        "advice, pairs and groups of one kind": ("/v1/advice", {**dear, **first, "card": doubles()}),
        "advice, 5,184 targets": ("/v1/advice", {**dear, **first, "card": many()}),
        "vote, 2 samples": ("/v1/votes", {**dear, "samples": 2}),
        "vote, 100 samples": ("/v1/votes", {**dear, "samples": 100}),
        "plan, 3 rounds": ("/v1/plans", {**dear, **first, "rounds": 3}),
        "review, 12 courtesy passes": ("/v1/reviews", {"records": [_drill(dear["card"])]}),
        "deals, 200 tried": (
            "/v1/deals",
            {"card": dear["card"], "seed": 1, "difficulty": "close", "budget": 200},
        ),
        "compositions, 5 tried, near six times": (
            "/v1/compositions",
            {
                "card": dear["card"],
                "seed": 1,
                "difficulty": "close",
                "budget": 5,
                "near": [{"name": "f", "away": away} for away in range(4, 10)],
            },
        ),
        "table before the first pass": ("/v1/tables", {"card": dear["card"], "seed": 1}),
        "sheet, 50 racks": ("/v1/sheets", {"card": dear["card"], "racks": [SPREAD_RACK] * 50}),
        "card checked": ("/v1/cards/check", {"card": dear["card"]}),
        "card of 477,600 faults": ("/v1/cards/check", {"card": faulty}),
        "card of 60,000 broken parts": ("/v1/cards/check", {"card": {"toml": "[[hand]]\nx=\n" * 60_000}}),
        "80,000 unknown members": ("/v1/advice", {f"k{index}": 1 for index in range(80_000)}),
        "HTML, 500 problems": ("/v1/sheets/pages", _sheet(500, "html")),
        "PDF, 50 problems": ("/v1/sheets/pages", _sheet(50, "pdf")),
    }


def practice() -> dict[str, tuple[str, Any]]:
    """Return requests on the full card, the dearest ones among them."""
    rack = {"rack": "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"}
    first, clear = {**rack, "round": "first_right"}, {"seed": 1, "difficulty": "clear"}
    return {
        "advice": ("/v1/advice", first),
        "advice, why": ("/v1/advice", {**first, "why": True}),
        "vote": ("/v1/votes", rack),
        "plan": ("/v1/plans", first),
        "review of a lap": ("/v1/reviews", json.loads(long_body(1))),
        "deal": ("/v1/deals", {"seed": 1}),
        "8 clear racks for a lesson": (
            "/v1/compositions",
            {**clear, "count": 8, "near": [{"name": name, "away": 6} for name in ("scales", "sisters")]},
        ),
        "advice, four numbers, 10 runner-ups, why": (
            "/v1/advice",
            {**rack, "round": "courtesy", "alternatives": 10, "why": True},
        ),
        "vote, 100 samples": ("/v1/votes", {**rack, "samples": 100}),
        "plan, 3 rounds": ("/v1/plans", {**first, "rounds": 3}),
        "review of 20 laps": ("/v1/reviews", json.loads(long_body(20))),
        "50 clear deals of 200": ("/v1/deals", {**clear, "count": 50, "budget": 200}),
        "sheet of 50, four numbers": ("/v1/sheets", {"racks": _racks(), "round": "courtesy"}),
    }


@dataclass(frozen=True)
class Seen:
    """How a request went: processor seconds, those after it was stopped, most memory, its price."""

    status: int
    seconds: float
    mib: float
    late: float = 0.0
    units: float | None = None


def ask(group: str, name: str, after: float, warm: bool) -> Seen:
    """Ask in this process, a new one; work is stopped after so many seconds of the processor."""
    path, body = globals()[group]()[name]
    sent, over, stopper = json.dumps(body).encode(), list[float](), Stopper()
    price = Settings().most_work if after == inf else _ENDLESS
    service = Service(Settings(threads=1, longest_solve=600, most_work=price))
    operation, named = service.find("POST", path)
    if warm:
        service.answer("POST", path, sent)
    done = Event()
    begun = process_time()

    def watch() -> None:
        while not done.wait(_GLANCE):
            if process_time() - begun > after:
                over.append(process_time())
                stopper.stop()
                return

    watching = Thread(target=watch)
    watching.start()
    try:
        reply = service.respond(operation, named, sent, name, stopper)
        if isinstance(reply, Later):
            reply = service.finish(reply, stopper)
    except Exception as error:
        reply = problem_reply(error, name)
    ended = process_time()
    done.set()
    watching.join()
    mib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    units = None
    if reply.ok and after == inf:
        task = Task(service._cards, json.loads(sent), named, lambda *_: b"")
        units = operation.price(operation.reads(task)).units
    return Seen(reply.status, ended - begun, mib, ended - over[0] if over else 0.0, units)


def apart(group: str, name: str, after: float = inf, warm: bool = False) -> Seen:
    with ProcessPoolExecutor(1, get_context("spawn")) as pool:
        return pool.submit(ask, group, name, after, warm).result()


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--only", default="", help="attacks whose names have this")
    wanted = parser.parse_args()
    wrong = False
    print("| attack | status | seconds | MiB | ends late by, MiB |\n|---|---|---|---|---|")
    for name in filter(lambda each: wanted.only in each, attacks()):
        print(name, file=sys.stderr)
        usual = apart("attacks", name)
        hasty = apart("attacks", name, after=1.0)
        wrong |= max(usual.mib, hasty.mib) > MOST_MIB or max(usual.late, hasty.late) > MOST_LATE
        late = f"{hasty.status}: {hasty.late:.2f} s, {hasty.mib:.0f}"
        print(f"| {name} | {usual.status} | {usual.seconds:.2f} | {usual.mib:.0f} | {late} |", flush=True)
    print("\n| request on the full card | price | seconds | units a microsecond |\n|---|---|---|---|")
    for name in filter(lambda each: wanted.only in each, practice()):
        seen = apart("practice", name, warm=True)
        rate = "" if seen.units is None else f"{seen.units:,.0f} | {seen.seconds:.2f} | "
        rate += "" if seen.units is None else f"{seen.units / 1e6 / max(seen.seconds, 1e-3):.1f}"
        print(f"| {name} | {rate or f'{seen.status} | {seen.seconds:.2f} |'} |", flush=True)
    return int(wrong)


if __name__ == "__main__":
    sys.exit(main())
