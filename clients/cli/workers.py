"""Who answers many tasks: this process, more of them on this machine, or a cluster; all alike.

A worker of this machine is this module run as a program: it reads a request a line and writes an outcome a
line. Its input ends with whoever started it, and so does the worker, whatever it is doing.
"""

from __future__ import annotations

import atexit
import os
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from functools import cache
from itertools import islice
from queue import SimpleQueue
from selectors import EVENT_READ, DefaultSelector
from subprocess import PIPE, Popen
from threading import Thread
from typing import Any

from clients.cli.output import Failure, UnreachableError, UsageFault, complain
from clients.cli.service import Reply, Service, encoded, object_in

# A task during which so many workers ended is given up: it may be what ends them.
_MOST_ENDED = 3

# A task's number, the address it is for and its request; its number and what came of it: a reply, or lines
# for the person.
Task = tuple[int, str, bytes]
Outcome = tuple[int, Reply | tuple[str, ...]]
Answering = Callable[[Iterable[Task]], Iterator[Outcome]]


@contextmanager
def workers(service: Service, server: str | None, jobs: int, dask: str | None) -> Iterator[Answering]:
    """Answer tasks with this process, with more of them on this machine, or with a cluster.

    Raises:
        UsageFault: the package for a cluster is not installed.
        UnreachableError: there is no cluster at the address, or workers keep ending.
    """
    if dask is not None:
        with _cluster(dask) as client:
            yield lambda tasks: _by_cluster(client, tasks, server)
    elif jobs == 1:
        yield lambda tasks: ((task, service.post(path, body)) for task, path, body in tasks)
    else:
        pool = _Pool([] if server is None else [server], jobs)
        try:
            yield pool.answer
        finally:
            pool.end()


class _Pool:
    """Processes that answer tasks; one that ends is replaced, and its task goes to another."""

    def __init__(self, arguments: list[str], jobs: int) -> None:
        self._arguments = arguments
        self._jobs = jobs
        self._all: list[Popen[bytes]] = []
        self._idle: list[Popen[bytes]] = []
        self._busy = DefaultSelector()

    def answer(self, tasks: Iterable[Task]) -> Iterator[Outcome]:
        """Yield outcomes as they come."""
        waiting, again, ended = iter(tasks), list[Task](), Counter[int]()
        busy = self._busy.get_map()
        while True:
            while len(busy) < self._jobs and (task := again.pop() if again else next(waiting, None)):
                self._give(task)
            if not busy:
                return
            for key, _ in self._busy.select():
                self._busy.unregister(key.fileobj)
                worker, task = key.data
                outcome = worker.stdout.readline()
                if outcome.endswith(b"\n"):
                    self._idle.append(worker)
                    yield task[0], _outcome_of(outcome)
                    continue
                ended[task[0]] += 1
                why = f"a worker has ended (exit code {worker.wait()})"
                if ended[task[0]] == _MOST_ENDED:
                    raise UnreachableError(
                        [f"{why}, like others that had the same task: is there enough memory?"]
                    )
                complain(f"{why}: its task goes to another")
                again.append(task)

    def end(self) -> None:
        """End all; what they were doing is lost."""
        for worker in self._all:
            worker.kill()
        for worker in self._all:
            worker.communicate()
        self._busy.close()

    def _give(self, task: Task) -> None:
        worker = self._idle.pop() if self._idle else self._started()
        # One that has ended takes nothing any more: that is noticed when its outcome is read.
        with suppress(OSError):
            worker.stdin.write(task[1].encode() + b" " + task[2] + b"\n")  # type: ignore[union-attr]
            worker.stdin.flush()  # type: ignore[union-attr]
        self._busy.register(worker.stdout, EVENT_READ, (worker, task))  # type: ignore[arg-type]

    def _started(self) -> Popen[bytes]:
        """Start a worker, in a session of its own: Ctrl-C in a terminal is for the first process alone."""
        asked = [sys.executable, "-P", "-m", __name__, *self._arguments]
        paths = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
        worker = Popen(asked, stdin=PIPE, stdout=PIPE, env=paths, start_new_session=True)
        self._all.append(worker)
        return worker


def _outcome_of(line: bytes) -> Reply | tuple[str, ...]:
    said = object_in(line) or {}
    return tuple(said["lines"]) if "lines" in said else Reply(said["status"], said["body"].encode("latin-1"))


def _work(server: str | None) -> None:
    """Answer what is read from stdin, on stdout; what libraries print goes to stderr."""
    told = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    asked: SimpleQueue[bytes] = SimpleQueue()
    Thread(target=_listen, args=(asked,), daemon=True).start()
    while True:
        path, _, body = asked.get().partition(b" ")
        _, outcome = answer(0, path.decode(), body, server)
        said = (
            {"status": outcome.status, "body": outcome.body.decode("latin-1")}
            if isinstance(outcome, Reply)
            else {"lines": outcome}
        )
        told.write(encoded(said) + b"\n")
        told.flush()


def _listen(asked: SimpleQueue[bytes]) -> None:
    for line in sys.stdin.buffer:
        asked.put(line.rstrip(b"\n"))
    os._exit(0)


@contextmanager
def _cluster(address: str) -> Iterator[Any]:
    try:
        from distributed import Client
    except ImportError:
        raise UsageFault(["--dask needs the package distributed: install threepass[cluster]"]) from None
    try:
        client: Any = Client(address, timeout="5s", set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        said = str(error).partition("\n")[0] or type(error).__name__
        raise UnreachableError([f"no Dask cluster at {address}: {said}"]) from None
    with client:
        yield client


def _by_cluster(client: Any, tasks: Iterable[Task], server: str | None) -> Iterator[Outcome]:
    from distributed import KilledWorker, as_completed

    waiting = (client.submit(answer, *task, server, pure=False) for task in tasks)
    # No more at once than keep all busy: there may be enough before all are asked.
    running: Any = as_completed(  # type: ignore[no-untyped-call]
        islice(waiting, 2 * max(1, sum(client.nthreads().values()))), loop=client.loop
    )
    for done in running:
        try:
            outcome: Outcome = done.result()
        except KilledWorker:
            raise UnreachableError(
                ["workers of the cluster ended again and again on the same task"]
            ) from None
        yield outcome
        running.update(islice(waiting, 1))


def answer(task: int, path: str, body: bytes, server: str | None) -> Outcome:
    """Answer one task in a worker, which keeps its service for the next one."""
    try:
        return task, _service(server).post(path, body)
    except Failure as failure:
        return task, failure.lines


@cache
def _service(server: str | None) -> Service:
    service = Service(server)
    atexit.register(service.__exit__, None, None, None)
    return service.__enter__()


if __name__ == "__main__":
    _work(sys.argv[1] if sys.argv[1:] else None)
