"""More load than a server can bear, on the loopback.

Run: python -m tests.benchmarks.load --seconds 60 --workers 2

1. Closed loop: how many requests a second it answers, and its memory then.
2. Open loop: so many, and --beyond (200) a second more, whatever comes back; /livez is asked meanwhile
   from a process of its own.
3. A worker is killed while each has a request (with two or more workers): what is lost, does it recover?
4. SIGTERM while a request runs: is it finished, is who comes later refused, what is the exit code?

With --compare only: two workers beside one, on eight kept connections opened at once. With --batches only: so
many racks one by one over HTTP, in batches over HTTP, and in process, in turn, each with one thread.

Progress on stderr, one JSON object on stdout. What it must say, seconds aside, holds in smaller runs, too:
tests/api/http/test_under_load.py. The client shares the machine with the server, so the numbers are lower
bounds of what the server can do.
"""

import argparse
import asyncio
import json
import os
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from itertools import cycle, islice
from multiprocessing import get_context
from pathlib import Path
from statistics import median
from typing import Any

import httpx2

from api.service import Service
from api.settings import Settings
from tests.benchmarks.serving import (
    HOST,
    Asked,
    Reply,
    Server,
    advice_bodies,
    ask,
    long_body,
    serving,
    until,
    written,
)

_LIVENESS_EVERY = 0.1


def quantile(numbers: list[float], share: float) -> float | None:
    """Return the smallest number that a share of all do not pass."""
    return sorted(numbers)[min(len(numbers) - 1, int(share * len(numbers)))] if numbers else None


def probe(port: int, seconds: float) -> list[Reply]:
    """Ask whether the server is alive, again and again."""

    async def asking() -> list[Reply]:
        replies, end = [], time.monotonic() + seconds
        while time.monotonic() < end:
            replies.append(await ask(port, "/livez"))
            await asyncio.sleep(_LIVENESS_EVERY)
        return replies

    return asyncio.run(asking())


async def closed_loop(
    port: int, bodies: list[bytes], at_once: int, seconds: float
) -> tuple[float, list[Reply]]:
    """Return answers a second with so many requests at a time, and the replies."""
    replies: list[Reply] = []
    begun = time.monotonic()

    async def one(own: list[bytes]) -> None:
        for body in cycle(own):
            if time.monotonic() > begun + seconds:
                return
            replies.append(await ask(port, "/v1/advice", body))

    await asyncio.gather(*(one(bodies[index::at_once]) for index in range(at_once)))
    return len(replies) / (time.monotonic() - begun), replies


async def kept_alive(port: int, bodies: list[bytes], connections: int, seconds: float) -> float:
    """Return answers a second on connections that are opened at once, as a proxy does, and kept."""
    opened = [await asyncio.open_connection(HOST, port) for _ in range(connections)]
    begun = time.monotonic()

    async def one(reader: asyncio.StreamReader, writer: asyncio.StreamWriter, own: list[bytes]) -> int:
        answered = 0
        for body in cycle(own):
            if time.monotonic() > begun + seconds:
                return answered
            writer.write(written("/v1/advice", body, "keep-alive"))
            head = await reader.readuntil(b"\r\n\r\n")
            await reader.readexactly(int(head.lower().partition(b"content-length:")[2].split()[0]))
            answered += head.startswith(b"HTTP/1.1 200 ")
        return answered

    each = [one(*ends, bodies[index::connections]) for index, ends in enumerate(opened)]
    answered = sum(await asyncio.gather(*each))
    for _, writer in opened:
        writer.close()
    return answered / (time.monotonic() - begun)


def workers_compared(folder: Path, card: str, seconds: float) -> dict[str, Any]:
    """Measure two workers of a thread each beside one of one thread and one of two.

    They are asked in turn, two seconds each, on eight connections opened at once.
    """
    found: dict[str, list[float]] = {"one_thread": [], "two_threads": [], "two_workers": []}
    with (
        serving(folder / "a", 1, {"threads": 1}) as one,
        serving(folder / "b", 1, {"threads": 2}) as threads,
        serving(folder / "c", 2, {"threads": 1}) as two,
    ):
        for turn in range(1 + round(seconds / 2)):
            bodies = advice_bodies(80, card, turn)
            for rates, server in zip(found.values(), (one, threads, two), strict=True):
                rates.append(asyncio.run(kept_alive(server.port, bodies, 8, 2.0)))
    # The first turn is to get warm.
    middle = {name: median(rates[1:]) for name, rates in found.items()}
    times = [
        both / alone for alone, both in zip(found["one_thread"][1:], found["two_workers"][1:], strict=True)
    ]
    return {"answers_a_second": middle, "two_workers_beside_one_thread": median(times)}


def batches_compared(folder: Path, card: str, racks: int) -> dict[str, float]:
    """Return answers a second of each way to have many racks answered, a hundred at a time in turn."""
    bodies = advice_bodies(racks, card)
    with (
        serving(folder / "log", 1, {"threads": 1}) as server,
        Service(Settings(threads=1)) as service,
        httpx2.Client(trust_env=False, timeout=600) as client,
    ):

        async def alone(part: list[bytes]) -> None:
            for body in part:
                assert (await ask(server.port, "/v1/advice", body)).status == 200

        def batch(part: list[bytes]) -> None:
            lines = b"".join(b'{"body":%s}\n' % body for body in part)
            url, headers = f"http://{HOST}:{server.port}/v1/batches", {"content-type": "application/x-ndjson"}
            answers = client.post(url, content=lines, headers=headers).content
            assert answers.count(b'"status": 200') == len(part)

        def inside(part: list[bytes]) -> None:
            assert all(service.answer("POST", "/v1/advice", body).ok for body in part)

        ways: dict[str, Callable[[list[bytes]], None]] = {
            "one by one": lambda part: asyncio.run(alone(part)),
            "in a batch": batch,
            "in process": inside,
        }
        spent = dict.fromkeys(ways, 0.0)
        for do in ways.values():  # warm
            do(bodies[:10])
        for at in range(0, racks, 100):
            for name, do in ways.items():
                begun = time.monotonic()
                do(bodies[at : at + 100])
                spent[name] += time.monotonic() - begun
    return {name: racks / seconds for name, seconds in spent.items()}


async def open_loop(
    server: Server, bodies: list[bytes], rate: float, seconds: float
) -> tuple[list[Reply], int]:
    """Send at a rate, whatever comes back; return the replies and the most memory seen, in bytes."""
    begun, peak, tasks = time.monotonic(), 0, []
    for number, body in enumerate(islice(cycle(bodies), int(rate * seconds))):
        if (wait := begun + number / rate - time.monotonic()) > 0:
            await asyncio.sleep(wait)
        tasks.append(asyncio.create_task(ask(server.port, "/v1/advice", body)))
        if number % max(1, int(rate)) == 0:
            peak = max(peak, server.resident())
    return await asyncio.gather(*tasks), max(peak, server.resident())


async def hold_every(server: Server, body: bytes) -> dict[int, asyncio.Task[Reply]]:
    """Give every worker a long request; return how each will end, by worker.

    Whoever accepts first has a connection, so more are sent until each worker has one. A worker that is sent
    a second has it taken back, and until it sees that it may turn a third away at once.
    """
    held: dict[int, asyncio.Task[Reply]] = {}
    while len(held) < len(server.workers()):
        asked = await Asked.send(server.port, "/v1/reviews", body)
        ending = asyncio.create_task(asked.reply())
        holder = await asyncio.to_thread(server.holder, asked.port, ending.done)
        held = {worker: other for worker, other in held.items() if not other.done()}
        if holder is not None and holder not in held:
            held[holder] = ending
            continue
        asked.leave()
        await ending
        await asyncio.sleep(0.1)
    return held


async def kill_one(server: Server, records: int) -> dict[str, Any]:
    """Kill a worker while every worker has a request; return how those and later ones end."""
    before = server.workers()
    held = await hold_every(server, long_body(records))
    await asyncio.sleep(0.2)
    victim = next(iter(held))
    os.kill(victim, signal.SIGKILL)
    replies = {worker: await ending for worker, ending in held.items()}
    # That it is gone is seen before the time is over in which a worker must give a sign of life.
    recovered = await asyncio.to_thread(
        until, lambda: len(server.workers()) == len(before) and victim not in server.workers(), 20
    )
    (later,) = advice_bodies(1, "small")
    after = [await ask(server.port, "/v1/advice", later) for _ in range(20)]
    return {
        "workers": len(before),
        "lost_on_the_killed": replies.pop(victim).status is None,
        "others": [reply.status for reply in replies.values()],
        "workers_again": recovered,
        "later": dict(Counter(str(reply.status) for reply in after)),
    }


async def drain(server: Server, records: int) -> dict[str, Any]:
    """Send SIGTERM while a request runs; return how it, later ones and the process end."""
    asked = await Asked.send(server.port, "/v1/reviews", long_body(records))
    running = asyncio.create_task(asked.reply())
    await asyncio.sleep(0.5)
    server.process.send_signal(signal.SIGTERM)
    while (await ask(server.port, "/livez")).status is not None and not running.done():
        await asyncio.sleep(0.05)
    under_way = not running.done()
    late = [await ask(server.port, "/livez") for _ in range(5)]
    return {
        "under_way_after_signal": under_way,
        "running": (await running).status,
        "late": [reply.status for reply in late],
        "exit_code": await asyncio.to_thread(server.process.wait, 60),
    }


def overload(server: Server, card: str, beyond: float, seconds: float, warm: float) -> dict[str, Any]:
    settings, bodies = Settings.from_environment(), advice_bodies(500, card)
    at_once = 2 * settings.threads
    capacity, alone = asyncio.run(closed_loop(server.port, bodies, at_once, warm))
    memory = server.resident()
    solve = max(reply.seconds for reply in alone)
    print(f"{capacity:.1f} a second; now {capacity + beyond:.1f} for {seconds:g} s", file=sys.stderr)
    with ProcessPoolExecutor(1, get_context("spawn")) as pool:
        probing = pool.submit(probe, server.port, seconds)
        begun = time.monotonic()
        replies, peak = asyncio.run(open_loop(server, bodies, capacity + beyond, seconds))
        took = time.monotonic() - begun
        alive = probing.result()
    accepted = [reply.seconds for reply in replies if reply.status == 200]
    return {
        "capacity_per_second": capacity,
        "offered_per_second": capacity + beyond,
        "seconds": seconds,
        "statuses": dict(Counter(str(reply.status) for reply in replies)),
        "accepted_per_second": len(accepted) / took,
        "accepted_p50_s": quantile(accepted, 0.5),
        "accepted_p99_s": quantile(accepted, 0.99),
        "deadline_s": settings.longest_wait + solve,
        "livez_statuses": dict(Counter(str(reply.status) for reply in alive)),
        "livez_worst_s": max(reply.seconds for reply in alive),
        "livez_p99_s": quantile([reply.seconds for reply in alive], 0.99),
        "resident_start_mib": memory / 2**20,
        "resident_peak_mib": peak / 2**20,
    }


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seconds", type=float, default=60, help="of load beyond capacity")
    parser.add_argument("--beyond", type=float, default=200, help="requests a second beyond capacity")
    parser.add_argument("--workers", type=int, default=2, help="server processes")
    parser.add_argument("--warm", type=float, default=10, help="seconds to measure the capacity")
    parser.add_argument("--card", default="full")
    parser.add_argument("--records", type=int, default=20, help="in the request running at a kill")
    parser.add_argument(
        "--compare", action="store_true", help="only two workers beside one, on kept connections"
    )
    parser.add_argument("--batches", type=int, help="only batches of so many racks beside other ways")
    wanted = parser.parse_args()
    if wanted.compare or wanted.batches:
        with tempfile.TemporaryDirectory() as folder:
            if wanted.compare:
                compared = workers_compared(Path(folder), wanted.card, wanted.seconds)
            else:
                compared = batches_compared(Path(folder), wanted.card, wanted.batches)
        print(json.dumps(compared, indent=2))
        return
    with tempfile.TemporaryDirectory() as folder, serving(Path(folder) / "log", wanted.workers) as server:
        found: dict[str, Any] = {
            "workers": wanted.workers,
            "load": overload(server, wanted.card, wanted.beyond, wanted.seconds, wanted.warm),
        }
        print("killing a worker", file=sys.stderr)
        found["kill"] = asyncio.run(kill_one(server, wanted.records)) if wanted.workers > 1 else None
        print("SIGTERM", file=sys.stderr)
        found["drain"] = asyncio.run(drain(server, wanted.records))
    print(json.dumps(found, indent=2))


if __name__ == "__main__":
    main()
