"""Many racks one by one over HTTP, in batches over HTTP, and in process, in turn on the same racks.

Run: python -m tests.benchmarks.bench_batches --racks 1000 --threads 1

The server and the process have as many threads. Prints answers a second, and the seconds of processor that
the side that solves spent, which tell more than the clock on a machine that others use too.
"""

import argparse
import asyncio
import json
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import httpx2
import psutil

from api.service import Service
from api.settings import Settings
from tests.benchmarks.serving import HOST, advice_bodies, ask, serving

JSONL = {"content-type": "application/x-ndjson"}


def main() -> int:
    """Run all three in turn, a part of the racks at a time."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--racks", type=int, default=1000)
    parser.add_argument("--part", type=int, default=100, help="racks after which the next way has its turn")
    parser.add_argument("--threads", type=int, default=1)
    parser.add_argument("--card", default="full")
    wanted = parser.parse_args()
    bodies = advice_bodies(wanted.racks, wanted.card)
    settings = {"threads": wanted.threads}
    with (
        tempfile.TemporaryDirectory() as folder,
        serving(Path(folder) / "log", 1, settings) as server,
        Service(Settings.model_validate(settings)) as service,
        ThreadPoolExecutor(wanted.threads) as pool,
        httpx2.Client(trust_env=False, timeout=600) as client,
    ):
        ours, theirs = psutil.Process(), psutil.Process(server.process.pid)
        url = f"http://{HOST}:{server.port}/v1/batches"

        def alone(part: list[bytes]) -> None:
            async def each(own: list[bytes]) -> None:
                for body in own:
                    assert (await ask(server.port, "/v1/advice", body)).status == 200

            async def together() -> None:
                await asyncio.gather(*(each(part[at :: wanted.threads]) for at in range(wanted.threads)))

            asyncio.run(together())

        def batch(part: list[bytes]) -> None:
            lines = b"".join(b'{"body":%s}\n' % body for body in part)
            answers = client.post(url, content=lines, headers=JSONL).content
            assert answers.count(b'"status": 200') == len(part)

        def inside(part: list[bytes]) -> None:
            assert all(
                reply.ok for reply in pool.map(lambda body: service.answer("POST", "/v1/advice", body), part)
            )

        ways: dict[str, tuple[Callable[[list[bytes]], None], psutil.Process]] = {
            "one by one": (alone, theirs),
            "in a batch": (batch, theirs),
            "in process": (inside, ours),
        }
        spent = {name: [0.0, 0.0] for name in ways}
        for do, _ in ways.values():  # warm
            do(bodies[:10])
        for at in range(0, wanted.racks, wanted.part):
            part = bodies[at : at + wanted.part]
            for name, (do, process) in ways.items():
                begun, used = time.monotonic(), sum(process.cpu_times()[:2])
                do(part)
                spent[name][0] += time.monotonic() - begun
                spent[name][1] += sum(process.cpu_times()[:2]) - used
    base = spent["in process"]
    for name, (clock, processor) in spent.items():
        print(
            json.dumps(
                {
                    "way": name,
                    "a_second": round(wanted.racks / clock, 1),
                    "of_in_process": round(base[0] / clock, 3),
                    "processor_ms_each": round(1000 * processor / wanted.racks, 2),
                    "of_in_process_by_processor": round(base[1] / processor, 3),
                }
            )
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
