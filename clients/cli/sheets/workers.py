"""Who answers the tasks: this process, more of them on this machine, or a cluster. All are clients alike."""

from __future__ import annotations

import atexit
import signal
import threading
import warnings
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from clients.cli.exits import Failure, UnreachableError, UsageFault
from clients.cli.transport import Reply, Service

PATH = "/v1/sheets"
# A task's number and its request; its number and what came of it: a reply, or lines for the person.
Task = tuple[int, bytes]
Outcome = tuple[int, Reply | tuple[str, ...]]
Answering = Callable[[Iterable[Task]], Iterator[Outcome]]
_mine = threading.local()


def alone(service: Service) -> Answering:
    """Return what answers one task after the other."""
    return lambda tasks: ((task, service.post(PATH, body)) for task, body in tasks)


@contextmanager
def together(server: str | None, jobs: int) -> Iterator[Answering]:
    """Answer with several processes of this machine."""
    from joblib.externals.loky import get_reusable_executor

    try:
        yield lambda tasks: _parallel(tasks, server, {"n_jobs": jobs, "backend": "loky"})
    finally:
        # Reused whatever it was made for: to replace it, loky would wait for it inside a lock that its own
        # thread may be waiting for, and an interruption would hang.
        get_reusable_executor(reuse=True).shutdown(wait=True, kill_workers=True)


@contextmanager
def clustered(server: str | None, address: str) -> Iterator[Answering]:
    """Answer with the workers of a Dask cluster.

    Raises:
        UsageFault: the package for it is not installed.
        UnreachableError: there is no cluster at the address.
    """
    try:
        from distributed import Client
    except ImportError:
        raise UsageFault(["--dask needs the package distributed: install threepass[cluster]"]) from None
    import joblib

    try:
        client: Any = Client(address, timeout="5s", set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        said = str(error).partition("\n")[0] or type(error).__name__
        raise UnreachableError([f"no Dask cluster at {address}: {said}"]) from None
    with client, joblib.parallel_config(backend="dask", client=client):
        yield lambda tasks: _parallel(tasks, server, {})


def _parallel(tasks: Iterable[Task], server: str | None, how: dict[str, Any]) -> Iterator[Outcome]:
    from joblib import Parallel, delayed

    # One task a batch: joblib would otherwise collect them, and answers be told late.
    parallel = Parallel(return_as="generator_unordered", batch_size=1, **how)
    outcomes = parallel(delayed(answer)(task, body, server) for task, body in tasks)
    try:
        yield from outcomes
    finally:
        with warnings.catch_warnings():
            # It warns that tasks are given up: that is what an interruption is for.
            warnings.simplefilter("ignore")
            outcomes.close()


def answer(task: int, body: bytes, server: str | None) -> Outcome:
    """Answer one task in a worker, which keeps its service for the next one."""
    try:
        return task, _service(server).post(PATH, body)
    except Failure as failure:
        return task, failure.lines


def _service(server: str | None) -> Service:
    kept: dict[str | None, Service] | None = getattr(_mine, "services", None)
    if kept is None:
        kept = _mine.services = {}
        if threading.current_thread() is threading.main_thread():
            # Ctrl-C reaches every process of a terminal; the first one decides what becomes of it.
            signal.signal(signal.SIGINT, signal.SIG_IGN)
    if server not in kept:
        kept[server] = Service(server).__enter__()
        atexit.register(kept[server].__exit__, None, None, None)
    return kept[server]
