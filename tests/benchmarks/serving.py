"""A real `threepass serve` on the loopback, and requests to it: for load.py and for tests."""

import asyncio
import json
import os
import random
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

import httpx2
import psutil

from patterns.tiles import KINDS

HOST = "127.0.0.1"
COMMAND = str(Path(sys.executable).parent / "threepass")
_SET = [tile.value for tile in KINDS for _ in range(tile.copies)]
_ROUNDS = ("first_right", "first_across", "first_left", "second_left", "second_across", "second_right")
_PATIENCE = 60.0


@dataclass(frozen=True)
class Reply:
    """How one request ended, and after how long; no status when the connection was cut."""

    status: int | None
    seconds: float


@dataclass(frozen=True)
class Server:
    port: int
    process: "subprocess.Popen[bytes]"
    log: Path

    def workers(self) -> dict[int, psutil.Process]:
        """The processes that answer, by id: those that were spawned, or else the only one."""
        parent = psutil.Process(self.process.pid)
        spawned = [child for child in parent.children() if "spawn_main" in " ".join(_command(child))]
        return {each.pid: each for each in spawned or [parent]}

    def metric(self, name: str) -> float:
        """Return the number of a metric without labels."""
        text = httpx2.get(f"http://{HOST}:{self.port}/metrics", trust_env=False).text
        (line,) = [line for line in text.splitlines() if line.startswith(f"{name} ")]
        return float(line.split()[1])

    @property
    def in_progress(self) -> int:
        """Requests under way, besides the one that asks for metrics."""
        return round(self.metric("threepass_requests_in_progress")) - 1

    def resident(self) -> int:
        """Bytes of memory that the server's processes keep in all."""
        parent = psutil.Process(self.process.pid)
        return sum(_resident(each) for each in [parent, *parent.children(recursive=True)])

    def holder(self, port: int, over: Callable[[], bool]) -> int | None:
        """The worker that has the connection from a client's port; None if the answer came before."""
        found: list[int] = []
        if not until(lambda: found.extend(self._holders(port)) or bool(found) or over()):
            raise RuntimeError("no worker took the connection")
        return found[0] if found else None

    def _holders(self, port: int) -> Iterator[int]:
        for pid, worker in self.workers().items():
            try:
                connections = worker.net_connections(kind="tcp")
            except psutil.Error:
                continue
            if any(each.raddr and each.raddr.port == port for each in connections):
                yield pid


def _command(process: psutil.Process) -> list[str]:
    try:
        return list(process.cmdline())
    except psutil.Error:
        return []


def ended(pid: int) -> bool:
    """Return whether a process is gone, whether or not its parent has taken notice."""
    try:
        return bool(psutil.Process(pid).status() == psutil.STATUS_ZOMBIE)
    except psutil.NoSuchProcess:
        return True


def _resident(process: psutil.Process) -> int:
    try:
        return int(process.memory_info().rss)
    except psutil.Error:
        return 0


def free_port() -> int:
    """Return a port of the loopback that nobody listens on."""
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return int(probe.getsockname()[1])


@contextmanager
def serving(log: Path, workers: int = 1, settings: Mapping[str, object] | None = None) -> Iterator[Server]:
    """Run a server on a free port, its output in the log, and end it; settings by names in small letters."""
    port = free_port()
    variables = {f"THREEPASS_{name.upper()}": str(value) for name, value in (settings or {}).items()}
    command = [COMMAND, "serve", "--port", str(port), "--workers", str(workers)]
    with log.open("wb") as output:
        process = subprocess.Popen(command, stdout=output, stderr=output, env={**os.environ, **variables})
    server = Server(port, process, log)
    try:
        if (
            not until(lambda: process.poll() is not None or _all_up(server, workers))
            or process.poll() is not None
        ):
            raise RuntimeError(f"the server did not start: {log.read_text()}")
        yield server
    finally:
        if process.poll() is None:
            process.terminate()
            process.wait(timeout=_PATIENCE)


def _all_up(server: Server, workers: int) -> bool:
    if workers == 1:
        with socket.socket() as probe:
            return probe.connect_ex((HOST, server.port)) == 0
    return server.log.read_text().count("Application startup complete") >= workers


def until(true: Callable[[], bool], patience: float = _PATIENCE) -> bool:
    """Wait until a call returns true; say whether it did in time."""
    end = time.monotonic() + patience
    while time.monotonic() < end:
        if true():
            return True
        time.sleep(0.05)
    return False


def advice_bodies(count: int, card: str, seed: int = 7) -> list[bytes]:
    """Return requests for advice on random racks of 14 tiles."""
    chance = random.Random(seed)
    return [
        json.dumps({"rack": chance.sample(_SET, 14), "round": "first_right", "card": card}).encode()
        for _ in range(count)
    ]


def long_body(records: int, seed: int = 11) -> bytes:
    """Return a request to ``/v1/reviews`` that takes tenths of a second for each record, of at most 20."""
    chance = random.Random(seed)
    return json.dumps({"records": [_record(chance) for _ in range(records)]}).encode()


def _record(chance: random.Random) -> dict[str, object]:
    tiles = chance.sample(_SET, len(_SET))
    rack, rest = tiles[:14], iter([tile for tile in tiles[14:] if tile != "J"])
    held, exchanges = list(rack), []
    for name in _ROUNDS:
        given = [tile for tile in held if tile != "J"][:3]
        received = list(islice(rest, len(given)))
        for tile in given:
            held.remove(tile)
        held += received
        exchanges.append({"round": name, "given": given, "received": received})
    return {"rack": rack, "card": "full", "exchanges": exchanges}


def written(path: str, body: bytes | None, connection: str) -> bytes:
    """Return a request as it is sent, its connection to be kept (``keep-alive``) or not (``close``)."""
    head = (
        f"{'GET' if body is None else 'POST'} {path} HTTP/1.1\r\nhost: {HOST}\r\nconnection: {connection}\r\n"
    )
    if body is not None:
        head += f"content-type: application/json\r\ncontent-length: {len(body)}\r\n"
    return head.encode() + b"\r\n" + (body or b"")


class Asked:
    """A request on a connection of its own."""

    def __init__(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter, begun: float) -> None:
        self._reader, self._writer, self._begun = reader, writer, begun

    @classmethod
    async def send(cls, port: int, path: str, body: bytes | None = None) -> "Asked":
        begun = time.monotonic()
        reader, writer = await asyncio.open_connection(HOST, port)
        writer.write(written(path, body, "close"))
        return cls(reader, writer, begun)

    @property
    def port(self) -> int:
        return int(self._writer.get_extra_info("sockname")[1])

    async def reply(self) -> Reply:
        try:
            words = (await self._reader.read()).split(b" ", 2)
        except OSError:
            words = []
        self.leave()
        return Reply(int(words[1]) if len(words) > 1 else None, time.monotonic() - self._begun)

    def leave(self) -> None:
        """Close the connection, answered or not."""
        self._writer.close()


async def ask(port: int, path: str, body: bytes | None = None) -> Reply:
    begun = time.monotonic()
    try:
        asked = await Asked.send(port, path, body)
    except OSError:
        return Reply(None, time.monotonic() - begun)
    return await asked.reply()
