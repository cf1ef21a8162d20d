"""A player's week, played by script: what is planted in her play, and what the coach finds.

`python -m tests.benchmarks.week --card full --laps 6 --seed 1` prints both. Each day she plays so many laps
and what is due again. She passes the best tiles but for two habits: at first left she gives a tile of a pair
where she has one, and when she hurries, about one pass in three in any round, she takes the sixth best pass.
"""

import argparse
import json
import random
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from clients.cli.play import Lap, Pass, rounds_of
from clients.cli.service import Service, encoded

PLANTED = {("round", "first_left"), ("given", "pair"), ("seconds", "quick")}
MONDAY = datetime(2026, 11, 16, 18, tzinfo=UTC)
_HURRY, _HABIT, _SIXTH = 1 / 3, 0.8, 5


class Player:
    """Plays laps and single passes, each logged as the command does it."""

    def __init__(self, service: Service, card: str, seed: int, log: Path) -> None:
        self._service, self._card, self._seed, self._log = service, card, seed, log
        self._rng = random.Random(seed)

    def week(self, laps: int, days: int = 7) -> Iterator[dict[str, Any]]:
        """Play, and after each day say what was due in the morning."""
        deals = 0
        for day in range(days):
            at = MONDAY + timedelta(days=day)
            told = self.told(at)
            due = [self._facts()[each["index"]] for each in told["due"]]
            for fact in due:
                self._play(self._again(fact), at, learned=True)
            for _ in range(laps):
                at += timedelta(minutes=5)
                self._play(self._dealt(deals), at)
                deals += 1
            yield {"day": at.strftime("%A"), "due": len(due), "listed": len(due) + len(told["waiting"])}

    def told(self, now: datetime) -> dict[str, Any]:
        """Return what the service tells of the log."""
        return self._ask("/v1/progress", passes=self._facts(), now=now.isoformat())

    def _ask(self, path: str, **body: Any) -> dict[str, Any]:
        return self._service.ask(path, encoded(body)).answer()

    def _facts(self) -> list[dict[str, Any]]:
        lines = self._log.read_text(encoding="utf-8").splitlines() if self._log.exists() else []
        entries = [json.loads(line) for line in lines]
        about = [(each, {"at": each["at"], "card": each["card"]}) for each in entries]
        return [{**fact, **more} for each, more in about for fact in each["result"]["passes"]]

    def _dealt(self, start: int) -> Lap:
        rounds = rounds_of(6, courtesy=False)
        wish = {"seed": self._seed, "start": start, "drill": {"exchanges_left": 6}, "heap": True}
        (deal,) = self._ask("/v1/deals", **wish, card=self._card)["deals"]
        rack, heap = tuple(deal["rack"]), tuple(deal["heap"])
        return Lap(self._seed, deal["index"], rack, heap, rounds, self._card, self._card)

    def _again(self, fact: dict[str, Any]) -> Lap:
        rounds, rack, seen = (fact["round"],), tuple(fact["rack"]), tuple(fact["seen"])
        return Lap(self._seed, 0, rack, (), rounds, self._card, self._card, seen=seen, left=fact["left"])

    def _play(self, lap: Lap, at: datetime, *, learned: bool = False) -> None:
        seen: Counter[str] = Counter(lap.seen or ())
        while not lap.finished:
            hurry = self._rng.random() < _HURRY
            left = lap.left or len(lap.rounds) - len(lap.exchanges)
            made = self._choice(lap, sorted(seen.elements()), left, hurry and not learned, learned)
            received = lap.exchange(made, self._rng.uniform(3, 9) if hurry else self._rng.uniform(12, 40))
            seen.update(made.given)
            seen.subtract(token for token in received if seen[token])
        (review,) = self._ask("/v1/reviews", records=[lap.record])["reviews"]
        about = {"threepass_log": 1, "at": at.isoformat(), "client": "script", "card": self._card}
        about |= {"seed": lap.seed, "deal": lap.index, "finished": True}
        line = {**about, "record": lap.record, "result": review["kept"]}
        with self._log.open("a", encoding="utf-8") as log:
            log.write(json.dumps(line) + "\n")

    def _choice(self, lap: Lap, seen: list[str], left: int, hurry: bool, learned: bool) -> Pass:
        wish = {"rack": lap.rack, "round": lap.round, "seen": seen, "card": self._card}
        asked = {
            **wish,
            "drill": {"exchanges_left": left},
            "alternatives": _SIXTH if hurry else 0,
            "hands": 0,
        }
        advice = self._ask("/v1/advice", **asked)
        given: list[str] = advice["pass"]
        if hurry and advice["alternatives"]:
            given = advice["alternatives"][-1]["pass"]
        pairs = [
            token for token in lap.rack if lap.rack.count(token) == 2 and token not in {"F", "J", *given}
        ]
        if lap.round == "first_left" and given and pairs and not learned and self._rng.random() < _HABIT:
            given = [self._rng.choice(pairs), *given[1:]]
        may_be_blind = lap.round in ("first_left", "second_right")
        return Pass(tuple(given), 3 - len(given) if may_be_blind else 0)


def costly(told: dict[str, Any]) -> set[tuple[str, str]]:
    return {(group["by"], group["name"]) for group in told["groups"] if group["costs"]}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--card", default="full")
    parser.add_argument("--laps", type=int, default=6)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--log", type=Path, default=Path("week.jsonl"))
    options = parser.parse_args()
    with Service(None) as service:
        player = Player(service, options.card, options.seed, options.log)
        for day in player.week(options.laps):
            print(day)
        told = player.told(MONDAY + timedelta(days=7))
    print(f"{told['passes']} passes\nplanted {sorted(PLANTED)}\nfound   {sorted(costly(told))}")
    print(told["words"]["where"])


if __name__ == "__main__":
    main()
