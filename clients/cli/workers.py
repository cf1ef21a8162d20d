"""Who answers many tasks: this process, more of them on this machine, or a cluster; all alike.

A worker of this machine is this module run as a program: it reads tasks and writes outcomes, pickled. Its
input ends with whoever started it, and so does the worker, whatever it is doing.
"""

from __future__ import annotations

import atexit
import os
import pickle
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from functools import cache
from itertools import islice
from queue import SimpleQueue
from select import select
from subprocess import PIPE, Popen
from threading import Thread
from typing import Any

from clients.cli.output import Failure, UnreachableError, UsageFault, complain
from clients.cli.service import Reply, Service

# A task during which so many workers ended is given up: it may be what ends them.
_MOST_ENDED = 3

# A task's number, the address it is for and its request.
Task = tuple[int, str, bytes]
# Its number and what came of it in a worker: a reply, or lines for the person.
Outcome = tuple[int, Reply | tuple[str, ...]]
Answering = Callable[[Iterable[Task]], Iterator[tuple[int, Reply]]]


@contextmanager
def workers(service: Service, server: str | None, jobs: int, dask: str | None) -> Iterator[Answering]:
    """Answer tasks with this process, with more of them on this machine, or with a cluster.

    Each task's number comes with its reply, in the order in which they are answered. An `UnreachableError`
    says that there is no cluster or no service, or that workers keep ending.
    """
    if dask is not None:
        with _cluster(dask) as client:
            yield lambda tasks: _by_cluster(client, tasks, server)
    elif jobs == 1:
        yield lambda tasks: ((task, service.post(path, body)) for task, path, body in tasks)
    else:
        # What they are doing when the block ends is lost.
        with ExitStack() as ending:
            yield lambda tasks: _by_processes(ending, jobs, tasks, server)


def _by_processes(
    ending: ExitStack, jobs: int, tasks: Iterable[Task], server: str | None
) -> Iterator[tuple[int, Reply]]:
    """A process that ends is replaced, and its task goes to another."""
    waiting, again, ended = iter(tasks), list[Task](), Counter[int]()
    idle: list[Popen[bytes]] = []
    busy: dict[Any, tuple[Popen[bytes], Task]] = {}
    while True:
        while len(busy) < jobs and (task := again.pop() if again else next(waiting, None)):
            worker = idle.pop() if idle else _started(ending, server)
            # One that has ended takes nothing any more: that is noticed when its outcome is read.
            with suppress(OSError):
                pickle.dump(task, worker.stdin)  # type: ignore[arg-type]
                worker.stdin.flush()  # type: ignore[union-attr]
            busy[worker.stdout] = worker, task
        if not busy:
            return
        for told in select(busy, (), ())[0]:
            worker, task = busy.pop(told)
            try:
                outcome = pickle.load(told)
            except (EOFError, pickle.UnpicklingError):
                ended[task[0]] += 1
                why = f"a worker has ended (exit code {worker.wait()})"
                if ended[task[0]] == _MOST_ENDED:
                    says = f"{why}, like others that had the same task: is there enough memory?"
                    raise UnreachableError([says]) from None
                complain(f"{why}: its task goes to another")
                again.append(task)
                continue
            idle.append(worker)
            yield _replied(outcome)


def _started(ending: ExitStack, server: str | None) -> Popen[bytes]:
    """Start a worker, in a session of its own: Ctrl-C in a terminal is for the first process alone."""
    asked = [sys.executable, "-P", "-m", __name__, *([] if server is None else [server])]
    paths = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    worker = Popen(asked, stdin=PIPE, stdout=PIPE, env=paths, start_new_session=True)
    ending.callback(worker.communicate)
    ending.callback(worker.kill)
    return worker


def _replied(outcome: Outcome) -> tuple[int, Reply]:
    number, came = outcome
    if isinstance(came, Reply):
        return number, came
    raise UnreachableError(came)


def _work(server: str | None) -> None:
    """Answer what is read from stdin, on stdout; what libraries print goes to stderr."""
    told = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    asked: SimpleQueue[Task] = SimpleQueue()
    Thread(target=_listen, args=(asked,), daemon=True).start()
    while True:
        pickle.dump(answer(asked.get(), server), told)
        told.flush()


def _listen(asked: SimpleQueue[Task]) -> None:
    try:
        while True:
            asked.put(pickle.load(sys.stdin.buffer))
    finally:
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


def _by_cluster(client: Any, tasks: Iterable[Task], server: str | None) -> Iterator[tuple[int, Reply]]:
    from distributed import KilledWorker, as_completed

    waiting = (client.submit(answer, task, server, pure=False) for task in tasks)
    # No more at once than keep all busy: there may be enough before all are asked.
    running: Any = as_completed(  # type: ignore[no-untyped-call]
        islice(waiting, 2 * max(1, sum(client.nthreads().values()))), loop=client.loop
    )
    for done in running:
        try:
            outcome = done.result()
        except KilledWorker:
            raise UnreachableError(
                ["workers of the cluster ended again and again on the same task"]
            ) from None
        yield _replied(outcome)
        running.update(islice(waiting, 1))


def answer(task: Task, server: str | None) -> Outcome:
    """Answer one task in a worker, which keeps its service for the next one."""
    number, path, body = task
    try:
        return number, _service(server).post(path, body)
    except Failure as failure:
        return number, failure.lines


@cache
def _service(server: str | None) -> Service:
    service = Service(server)
    atexit.register(service.__exit__, None, None, None)
    return service.__enter__()


if __name__ == "__main__":
    _work(sys.argv[1] if sys.argv[1:] else None)
