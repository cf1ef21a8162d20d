"""Many racks, deals or games as tasks: who answers them, and the folder that keeps the answers as they come.

A worker of this machine is this module run as a program: it reads tasks and writes outcomes, pickled. Its
input ends with whoever started it, and so does the worker, whatever it is doing.
"""

from __future__ import annotations

import csv
import hashlib
import json
import os
import pickle
import re
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from functools import cache
from itertools import islice
from pathlib import Path
from queue import SimpleQueue
from select import select
from subprocess import PIPE, Popen
from threading import Thread
from typing import Any

import click

from api.service import counted
from clients.cli.options import spelled
from clients.cli.output import (
    Exit,
    Failure,
    append,
    complain,
    said_by,
    write_whole,
)
from clients.cli.service import Reply, Service, decoded, encoded, object_in

ANSWERS = "answers.jsonl"
MOST_RACKS = 500
_MARK = "threepass_answers"
_VERSION = 3
_BEGINS = f'{{"{_MARK}"'.encode()
_MADE = re.compile(r"(problems|key)(-\d+-\d+)?\.(html|pdf|csv)|sheet\.json")
# A task during which so many workers ended is given up: it may be what ends them.
_MOST_ENDED = 3


def racks_in(content: bytes, name: str) -> dict[str, Any]:
    """Return the racks in a file of this name, with their rounds if they have them, by place: ``line 3``.

    The content is JSON Lines if its first line begins as JSON, a table if its first line is a header with a
    column ``rack``, and otherwise a rack a line. Blank lines are skipped; what is no rack goes to the service
    as it is, to be refused there. A `Failure` tells that it is not UTF-8, has no rack or more than 500, or
    names each line that is not of the form.
    """
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Failure(Exit.USAGE, f"{name}: not UTF-8 at byte {error.start}") from None
    lines = [(number, line.strip()) for number, line in enumerate(text.split("\n"), 1) if line.strip()]
    first = lines[0][1] if lines else ""
    found: Iterable[tuple[int, Any]] = lines
    faults: list[str] = []
    delimiter = max(",;\t", key=first.count)
    if "rack" in (cell.strip(' "') for cell in first.lower().split(delimiter)):
        found = _table(text, delimiter, faults)
    elif first.startswith(("{", "[", '"')):
        found = _json_lines(lines, faults)
    racks = {f"line {number}": _spelled(entry) for number, entry in found}
    if faults:
        raise Failure(Exit.USAGE, *(f"{name}: {fault}" for fault in faults))
    if not racks:
        raise Failure(Exit.USAGE, f"{name}: no racks")
    if len(racks) > MOST_RACKS:
        raise Failure(Exit.USAGE, f"{name}: {len(racks):,} racks: a sheet has at most {MOST_RACKS}")
    return racks


def _json_lines(lines: Iterable[tuple[int, str]], faults: list[str]) -> Iterator[tuple[int, Any]]:
    for number, line in lines:
        try:
            yield number, decoded(line.encode())
        except ValueError:
            faults.append(f"line {number}: not JSON")


def _table(text: str, delimiter: str, faults: list[str]) -> Iterator[tuple[int, dict[str, str]]]:
    rows = csv.reader(text.splitlines(keepends=True), delimiter=delimiter)
    columns: list[str] = []
    try:
        for row in rows:
            cells = [cell.strip() for cell in row]
            if not any(cells):
                continue
            if columns:
                named = dict(zip(columns, cells, strict=False))
                asked = {name: named[name] for name in ("rack", "round") if named.get(name)}
                yield rows.line_num, {"rack": "", **asked}
            columns = columns or [cell.lower() for cell in cells]
    except csv.Error as error:
        faults.append(f"line {rows.line_num}: {error}")


def _spelled(entry: Any) -> Any:
    """Return a rack with its round spelled as the service does, which refuses a name that is none."""
    if isinstance(entry, dict) and isinstance(entry.get("round"), str):
        return {**entry, "round": spelled(entry["round"])}
    return entry


@dataclass(frozen=True)
class Batch:
    """A sheet, as tasks of one rack or one deal each, so that many workers can share them.

    It has `count` racks, one's own by their places or, without these, of deals from `start` on, of which at
    `most` so many are tried. The base is the request without all that.
    """

    base: Mapping[str, Any]
    racks: Mapping[str, Any] | None
    count: int
    start: int
    most: int

    @property
    def digest(self) -> str:
        """Names the request: the same for the same questions, whoever answers them."""
        asked = {**vars(self), "racks": self.racks and [*self.racks.values()]}
        return hashlib.sha256(json.dumps(asked, sort_keys=True).encode()).hexdigest()

    def tasks(self, found: Mapping[int, Mapping[str, Any]]) -> Iterator[Task]:
        """Yield the tasks that are not answered yet, until the answers, which may grow, are enough."""
        racks = [*(self.racks or {}).values()]
        for task in range(self.most):
            if len(self._used(found)[0]) >= self.count:
                return
            if task not in found:
                deal = {"start": self.start + task, "count": 1, "budget": 1}
                asked = {"racks": [racks[task]]} if racks else deal
                yield task, "/v1/sheets", encoded({**self.base, **asked})

    def merged(self, found: Mapping[int, Mapping[str, Any]]) -> dict[str, Any]:
        """Return one sheet of many, numbered from 1 in the order of the tasks.

        Answers that are not all of one version of the service are a `Failure`.
        """
        sheets, tried = self._used(found)
        first = found[0]
        if any(sheet["versions"] != first["versions"] for sheet in sheets):
            says = "the answers are of two versions of threepass: begin in another folder"
            raise Failure(Exit.UNREACHABLE, says)
        merged = {**first, "complete": len(sheets) >= self.count, "tried": tried}
        for part in ("problems", "key"):
            each = (one for sheet in sheets for one in sheet[part])
            merged[part] = [{**one, "number": number} for number, one in enumerate(each, 1)]
        return merged

    def _used(self, found: Mapping[int, Mapping[str, Any]]) -> tuple[list[Mapping[str, Any]], int]:
        """Return the sheets with a problem, without a gap from the first task on, and the tasks they took."""
        used: list[Mapping[str, Any]] = []
        task = 0
        while task in found and len(used) < self.count:
            if found[task]["problems"]:
                used.append(found[task])
            task += 1
        return used, task


@contextmanager
def alone_in(path: Path) -> Iterator[None]:
    """Make a folder if it is not there, and have it to oneself as long as the block lasts.

    That another process has it is a `Failure`.
    """
    with _writing(path):
        path.mkdir(parents=True, exist_ok=True)
    try:
        import fcntl
    except ImportError:  # Windows has no such lock
        yield
        return
    folder = os.open(path, os.O_RDONLY)
    try:
        fcntl.flock(folder, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield
    except BlockingIOError:
        choose = "wait until it is done, or choose another with --out"
        raise Failure(Exit.USAGE, f"{path}: another sheet is being made in this folder: {choose}") from None
    finally:
        os.close(folder)


class Folder:
    """A folder that belongs to one request: its files, and answers kept so that work can go on later.

    The digest names the request. Answers of another request, and the files made of them, go with the first
    new answer if it is to be made ``again``; otherwise they are a `Failure`, as is what cannot be
    read or written.
    """

    def __init__(self, path: Path, digest: str, *, again: bool = False) -> None:
        self._path, self._digest, self._again = path, digest, again
        self._answers = path / ANSWERS
        self._header = encoded({_MARK: _VERSION, "request": digest})
        self.read()

    def read(self) -> None:
        """Read what is kept, as after an interruption, which may have come while an answer was written."""
        self.kept: dict[int, dict[str, Any]] = {}
        with _writing(self._answers):
            content = self._answers.read_bytes() if self._answers.exists() else b""
            header, *lines = content.split(b"\n")
        self._begun = header == self._header
        # Begun, perhaps by another request, and without an answer: there is nothing to lose.
        ours = header.startswith(_BEGINS) or _BEGINS.startswith(header)
        if not self._begun and (not ours or (any(lines) and not self._again)):
            choose = "make it again in its place with --again, or choose another with --out"
            says = f"this folder has the answers of another request: {choose}"
            raise Failure(Exit.USAGE, f"{self._answers}: {says}")
        for line in lines:
            read = object_in(line) or {}
            task, sheet = read.get("task", -1), read.get("sheet")
            # A line that was torn or spoiled, or is another request's, is answered anew.
            if isinstance(sheet, dict) and line == self._line(task, sheet):
                self.kept[task] = sheet

    def keep(self, task: int, sheet: Mapping[str, Any]) -> None:
        """Add a finished answer, and wait until it is on the disk."""
        with _writing(self._answers):
            if not self._begun:
                for old in self._path.glob("*"):
                    if old.name == ANSWERS or (self._again and _MADE.fullmatch(old.name)):
                        old.unlink()
                append(self._answers, self._header)
                self._begun = True
            append(self._answers, self._line(task, sheet))
        self.kept[task] = dict(sheet)

    @contextmanager
    def going_on(self, one: str, each: int = 1, where: Path | str = ANSWERS) -> Iterator[None]:
        """Tell what is kept from before; an interruption ends the command, and tells what is kept then.

        It is told as a number of such things, so many an answer.
        """
        if self.kept:
            complain(f"going on: {counted(each * len(self.kept), one)} kept from before")
        try:
            yield
        except KeyboardInterrupt:
            self.read()
            kept = f"{counted(each * len(self.kept), one)} kept in {where}"
            complain(f"interrupted: {kept}; the same command goes on from there")
            raise click.exceptions.Exit(Exit.INTERRUPTED) from None

    def settle(self, tasks: int) -> None:
        """Keep the answers that are needed, of the first tasks, in order: the same file whoever answered."""
        lines = [self._header, *(self._line(task, self.kept[task]) for task in range(tasks))]
        self.write(ANSWERS, b"".join(line + b"\n" for line in lines))

    def _line(self, task: Any, sheet: Mapping[str, Any]) -> bytes:
        check = hashlib.sha256(encoded([self._digest, task, sheet])).hexdigest()[:16]
        return encoded({"task": task, "check": check, "sheet": sheet})

    def write(self, name: str, content: bytes) -> Path:
        """Write a file whole, or leave what stood there before."""
        path = self._path / name
        with _writing(path):
            write_whole(path, content)
        return path


@contextmanager
def _writing(path: Path) -> Iterator[None]:
    try:
        yield
    except (OSError, ValueError) as error:
        kept = "the answers kept so far stay, and the same command goes on"
        lines = [f"{path}: {said_by(error)}", f"make room or choose another folder; {kept}"]
        raise Failure(Exit.NOT_WRITTEN, *lines) from None


# A task's number, the address it is for and its request.
Task = tuple[int, str, bytes]
Answered = tuple[int, Reply]
Answering = Callable[[Iterable[Task]], Iterator[Answered]]


@contextmanager
def workers(service: Service, jobs: int, dask: str | None) -> Iterator[Answering]:
    """Answer tasks with this process, with more of them on this machine, or with a cluster.

    Each task's number comes with its reply, in the order in which they are answered. A `Failure` says
    that there is no cluster or no service, or that workers keep ending.
    """
    if dask is not None:
        with _cluster(dask) as client:
            yield lambda tasks: _by_cluster(client, tasks, service.url)
    elif jobs == 1:
        yield lambda tasks: ((task, service.ask(path, body)) for task, path, body in tasks)
    else:
        # What they are doing when the block ends is lost.
        with ExitStack() as ending:
            yield lambda tasks: _by_processes(ending, jobs, tasks, service.url)


def _by_processes(
    ending: ExitStack, jobs: int, tasks: Iterable[Task], server: str | None
) -> Iterator[Answered]:
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
                came: Answered | Failure = pickle.load(told)
            except (EOFError, pickle.UnpicklingError):
                ended[task[0]] += 1
                why = f"a worker has ended (exit code {worker.wait()})"
                if ended[task[0]] == _MOST_ENDED:
                    says = f"{why}, like others that had the same task: is there enough memory?"
                    raise Failure(Exit.UNREACHABLE, says) from None
                complain(f"{why}: its task goes to another")
                again.append(task)
                continue
            if isinstance(came, Failure):
                raise came
            idle.append(worker)
            yield came


def _started(ending: ExitStack, server: str | None) -> Popen[bytes]:
    """Start a worker, in a session of its own: Ctrl-C in a terminal is for the first process alone."""
    asked = [sys.executable, "-P", "-m", __name__, *([] if server is None else [server])]
    paths = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    worker = Popen(asked, stdin=PIPE, stdout=PIPE, env=paths, start_new_session=True)
    ending.callback(worker.communicate)
    ending.callback(worker.kill)
    return worker


def _work(server: str | None) -> None:
    """Answer what is read from stdin, on stdout; what libraries print goes to stderr."""
    told = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    asked: SimpleQueue[Task] = SimpleQueue()
    Thread(target=_listen, args=(asked,), daemon=True).start()
    while True:
        try:
            came: Answered | Failure = answer(asked.get(), server)
        except Failure as failure:
            came = failure
        pickle.dump(came, told)
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
        needs = "--dask needs the package distributed: install threepass[cluster]"
        raise Failure(Exit.USAGE, needs) from None
    try:
        client: Any = Client(address, timeout="5s", set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        said = str(error).partition("\n")[0] or type(error).__name__
        raise Failure(Exit.UNREACHABLE, f"no Dask cluster at {address}: {said}") from None
    with client:
        yield client


def _by_cluster(client: Any, tasks: Iterable[Task], server: str | None) -> Iterator[Answered]:
    from distributed import KilledWorker, as_completed

    waiting = (client.submit(answer, task, server, pure=False) for task in tasks)
    # No more at once than keep all busy: there may be enough before all are asked.
    running: Any = as_completed(  # type: ignore[no-untyped-call]
        islice(waiting, 2 * max(1, sum(client.nthreads().values()))), loop=client.loop
    )
    for done in running:
        try:
            yield done.result()
        except KilledWorker:
            says = "workers of the cluster ended again and again on the same task"
            raise Failure(Exit.UNREACHABLE, says) from None
        running.update(islice(waiting, 1))


_service = cache(Service)


def answer(task: Task, server: str | None) -> Answered:
    """Answer one task in a worker, which keeps its service for the next one."""
    number, path, body = task
    return number, _service(server).ask(path, body)


if __name__ == "__main__":
    _work(sys.argv[1] if sys.argv[1:] else None)
