"""Does memory stay level? Many requests to one process, each with another rack.

Run: python -m tests.benchmarks.bench_memory [REQUESTS]
"""

from __future__ import annotations

import random
import sys
from pathlib import Path

from starlette.testclient import TestClient

from api.app import create_app
from patterns.tiles import KINDS

WALL = [tile.value for tile in KINDS for _ in range(tile.copies)]
ROUNDS = ("first_right", "first_across", "first_left", "second_left", "courtesy")


def resident() -> float:
    """Return the process's resident memory in MiB."""
    status = Path("/proc/self/status").read_text(encoding="utf-8")
    return int(status.split("VmRSS:")[1].split()[0]) / 1024


def main() -> None:
    requests = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    with TestClient(create_app()) as client:
        for number in range(requests + 1):
            rnd = random.Random(number)
            body = {"rack": rnd.sample(WALL, 14), "round": rnd.choice(ROUNDS), "give": 3}
            assert client.post("/v1/advice", json=body).status_code == 200
            if number % (requests // 10) == 0:
                print(f"{number} requests: {resident():.0f} MiB", flush=True)


if __name__ == "__main__":
    main()
