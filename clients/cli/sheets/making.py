"""Making a sheet: the racks checked, the tasks answered and kept, the files written."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from typing import Any

from clients.cli.exits import INTERRUPTED, RefusedError, UnreachableError
from clients.cli.held import held
from clients.cli.lines import encoded
from clients.cli.output import complain, say
from clients.cli.problems import answer_of, lines_of, not_threepass, object_of, place_of
from clients.cli.progress import Progress
from clients.cli.render.words import counted
from clients.cli.sheets.folder import ANSWERS, Folder
from clients.cli.sheets.racks import OwnRack
from clients.cli.sheets.tasks import Batch
from clients.cli.sheets.workers import Answering, Task, alone, clustered, together
from clients.cli.transport import Reply, Service

FORMATS = ("json", "csv", "html", "pdf")
_PARTS = ("problems", "key")
# As many as the service prints in one PDF.
_PRINTED_AT_ONCE = 100
_CHECKED_AT_ONCE = 50
_NOT_INSTALLED = 501
_IN_RACK = re.compile(r"#/racks/([0-9]{1,6})((?:/.*)?)")


@dataclass(frozen=True)
class Wanted:
    """How a sheet is to be made.

    Attributes:
        formats: Of the files; None for all that the service can make.
        paper: Of the pages.
        server: Whom to ask, or None.
        jobs: Processes to share the work.
        dask: Address of a cluster to share the work instead, or None.
    """

    formats: Sequence[str] | None
    paper: str
    server: str | None
    jobs: int
    dask: str | None


def make_sheet(batch: Batch, folder: Folder, wanted: Wanted, service: Service) -> int:
    """Answer what is not answered yet, write the files, print their paths, and return the exit code.

    Raises:
        RefusedError: the service refused; what was answered is kept.
        UnreachableError: no answer.
        NotWrittenError: the folder cannot be written to.
    """
    try:
        _answer_all(batch, folder, wanted, service)
        _write_files(batch, folder, wanted, service)
    except KeyboardInterrupt:
        complain(
            f"interrupted: {counted(len(folder.kept), 'answer')} kept in {ANSWERS};"
            " the same command goes on from there"
        )
        return INTERRUPTED
    return 0


def check_racks(base: Mapping[str, Any], racks: Sequence[OwnRack], service: Service) -> None:
    """Have the service check all racks before any is answered.

    Raises:
        RefusedError: every fault, with the place of its rack.
        UnreachableError: no answer.
    """
    faults: dict[str, None] = {}
    for first in range(0, len(racks), _CHECKED_AT_ONCE):
        some = racks[first : first + _CHECKED_AT_ONCE]
        reply = service.post(
            "/v1/sheets", encoded({**base, "racks": [rack.entry for rack in some], "key": False})
        )
        if not reply.ok:
            faults.update(dict.fromkeys(_faults_of(reply, some)))
        else:
            answer_of(reply)
    if faults:
        raise RefusedError(faults)


def _faults_of(reply: Reply, racks: Sequence[OwnRack]) -> list[str]:
    """Return one line a fault, with the place of the rack that has it."""
    errors = (object_of(reply.body) or {}).get("errors")
    lines = []
    for item, line in zip(errors if isinstance(errors, list) else [], lines_of(reply), strict=False):
        found = _IN_RACK.fullmatch(str(item.get("pointer")) if isinstance(item, Mapping) else "")
        if found is not None and int(found[1]) < len(racks):
            part = place_of("#" + found[2])
            part = f"{part}: " if part not in ("", "rack") else ""
            lines.append(f"{racks[int(found[1])].place}: {part}{item.get('detail')}")
        else:
            lines.append(line)
    return lines or lines_of(reply)


def _answer_all(batch: Batch, folder: Folder, wanted: Wanted, service: Service) -> None:
    if folder.kept:
        complain(f"going on: {counted(len(folder.kept), 'answer')} kept from before")
    own = batch.racks is not None
    progress = Progress(one="rack" if own else "deal", done="answered" if own else "tried", answers=False)
    refused: list[str] = []

    def tasks() -> Iterator[Task]:
        for task in range(batch.most):
            if batch.enough(folder.kept):
                return
            if task not in folder.kept:
                yield task, batch.body(task)

    try:
        with _workers(wanted, service) as answering:
            outcomes = answering(tasks())
            for task, outcome in outcomes:
                if not isinstance(outcome, Reply):
                    raise UnreachableError(outcome)
                if not outcome.ok:
                    if batch.racks is None:
                        raise RefusedError(lines_of(outcome))
                    refused += _faults_of(outcome, [batch.racks[task]])
                    progress.count(False)
                    continue
                # What is kept is counted too, whenever an interruption comes.
                with held():
                    folder.keep(task, _sheet_of(outcome))
                    progress.count(True)
    except (LookupError, TypeError):
        raise not_threepass() from None
    finally:
        if progress.answered:
            progress.end()
    if refused:
        raise RefusedError(refused)


def _workers(wanted: Wanted, service: Service) -> AbstractContextManager[Answering]:
    if wanted.dask is not None:
        return clustered(wanted.server, wanted.dask)
    return nullcontext(alone(service)) if wanted.jobs == 1 else together(wanted.server, wanted.jobs)


def _sheet_of(reply: Reply) -> dict[str, Any]:
    sheet = answer_of(reply)["sheet"]
    if len(sheet["problems"]) > 1 or len(sheet["key"]) != len(sheet["problems"]):
        raise not_threepass()
    return dict(sheet)


def _write_files(batch: Batch, folder: Folder, wanted: Wanted, service: Service) -> None:
    try:
        sheet = batch.merged(folder.kept)
        found = len(sheet["problems"])
    except (LookupError, TypeError):
        raise not_threepass() from None
    for form in wanted.formats or FORMATS:
        if form == "json":
            written = json.dumps(sheet, indent=1, allow_nan=False) + "\n"
            say(str(folder.write("sheet.json", written.encode())))
            continue
        for part, name, some in _files(sheet, form):
            asked = {"sheet": some, "format": form, "part": part, "paper": wanted.paper}
            reply = service.post("/v1/sheets/pages", encoded(asked))
            if reply.status == _NOT_INSTALLED and wanted.formats is None:
                complain(f"no PDF: {lines_of(reply)[0]}")
                break
            if not reply.ok:
                raise RefusedError(lines_of(reply))
            say(str(folder.write(name, reply.body)))
    if found < batch.count:
        complain(
            f"only {found} of {counted(batch.count, 'deal')} found: {counted(sheet['tried'], 'deal')} tried"
        )


def _files(sheet: Mapping[str, Any], form: str) -> Iterator[tuple[str, str, Mapping[str, Any]]]:
    """Yield part, name and sheet of each file of a form; what is too long for one PDF goes into several."""
    count = len(sheet["problems"])
    for part in _PARTS:
        if form != "pdf" or count <= _PRINTED_AT_ONCE:
            yield part, f"{part}.{form}", sheet
            continue
        for first in range(0, count, _PRINTED_AT_ONCE):
            last = min(first + _PRINTED_AT_ONCE, count)
            some = {name: sheet[name][first:last] for name in _PARTS}
            yield part, f"{part}-{first + 1}-{last}.{form}", {**sheet, **some}
