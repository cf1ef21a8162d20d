"""Racks that are dealt: told (``threepass deal``), or as problems to print (``threepass sheet``)."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from itertools import islice
from pathlib import Path
from typing import Any

import click

from api.service import Sort, counted
from clients.cli import options as shared
from clients.cli.batch import MOST_RACKS, Answering, Batch, Folder, alone_in, racks_in, workers
from clients.cli.options import question_of
from clients.cli.output import Exit, Failure, Progress, complain, content_of, labeled, say, write_body
from clients.cli.service import Answer, Reply, Service, encoded, show_answer

# The service takes no more deals at once; a request that tries this many takes seconds.
MOST_DEALS, MOST_TRIED = 50, 100
# Fourteen tiles with spaces between and quotation marks around, a few of them named by a word.
_WIDTH = 50
# No tiles can be named that are yet to be dealt.
_hands_that_count = shared.hands_that_count(Sort.YES_NO, Sort.AT_LEAST)

_DEALS = f"""
Each line begins with a rack in quotation marks, to paste behind "threepass advise", into the lines of
"threepass advise -" or as the "rack" of a record. Then come the number of the deal, how close the choice of
its first pass is (toss-up, close, fair, clear), and the family of its likeliest hand. --seed and the number
name the deal for good.

When the budget ends before enough were found, those found are printed and a line on stderr says so; in JSON
"complete" is false. The exit code is 0 all the same.

{shared.EXIT_CODES}
"""


@click.command(
    cls=shared.PassCommand, epilog=_DEALS, short_help="The same racks again, by how hard they are."
)
@click.option("--seed", type=int, required=True, metavar="N", help=shared.same_deals)
@shared.whole("--count", "Deals wanted.", 1, default=1)
@shared.whole("--start", "Number of the first deal to try.", default=0)
@shared.of_deals
@shared.drill
@shared.card
@_hands_that_count
@click.option("--heap", is_flag=True, help="List the tiles that come in, in order.")
@click.option("--answers", is_flag=True, help="Tell the best first pass.")
@shared.as_json
@shared.server
def deal(count: int, budget: int | None, as_json: bool, service: Service, **options: Any) -> int:
    """Deal racks from a seed, by how hard their first pass is."""
    # They are asked for in several requests, so that none takes long and what is found is told at once. In
    # JSON they are one object; it is the service's answer as it came when one request was enough.
    wish, most = question_of(options), budget or max(400, 8 * count)
    found: list[Any] = []
    bodies: list[bytes] = []
    tried = 0
    with Progress("deal", "tried") as progress:
        while len(found) < count and tried < most:
            asked = {
                **wish,
                "start": wish["start"] + tried,
                "count": min(count - len(found), MOST_DEALS),
                "budget": min(most - tried, MOST_TRIED),
            }
            reply = service.ask("/v1/deals", encoded(asked))
            if as_json and not reply.ok:
                write_body(reply.body)
            answer = reply.answer()
            lines, more = [deal_text(each) for each in answer["deals"]], max(1, answer["tried"])
            # Counted before it is told: whoever sees it told may interrupt at once.
            found += answer["deals"]
            tried += more
            bodies.append(reply.body)
            progress.count(True, more)
            if not as_json and lines:
                say("\n".join(lines))
    complete = len(found) >= count
    if as_json:
        whole = {"deals": found, "complete": complete, "tried": tried, "seed": wish["seed"]}
        write_body(bodies[0] if len(bodies) == 1 and not progress.interrupted else encoded(whole))
    code = progress.end()
    if not complete and not progress.interrupted:
        complain(f"only {len(found)} of {counted(count, 'deal')} found: the budget was {most:,}")
    return code


def deal_text(deal: Answer) -> str:
    """Return the line for a deal, and below it what else was asked for."""
    rack = f'"{" ".join(deal["rack"])}"'
    words = deal["words"]
    facts = f"{deal['index']:>4}  {words['closeness'] or '-':<9}  {words['family'] or '-'}"
    lines = [f"{rack:<{_WIDTH}}{facts}"]
    if deal["pass"] is not None:
        lines += labeled("pass", " ".join(deal["pass"]), 4, 6)
    if deal["heap"] is not None:
        lines += labeled("heap", " ".join(deal["heap"]), 4, 6)
    return "\n".join(lines)


def _near(written: str) -> dict[str, Any]:
    name, _, away = written.rpartition(":")
    if not (name and away.isascii() and away.isdigit() and len(away) < 9):
        raise click.BadParameter(f"{written!r} is not of the form NAME:N, such as gardens:6")
    return {"name": name, "away": int(away)}


_COMPOSED = f"""
The output is a table for "threepass sheet --racks": a rack, how close the choice of its first pass is, and
the family of its likeliest hand, with ";" between. The page takes it too (Sheets, typed racks).

Wishes that no rack fits are refused, and the fewest that clash are named. When the budget ends, or no other
rack differs enough from those found, a line on stderr says so, and the exit code is 0 all the same.

{shared.EXIT_CODES}
"""


@click.command(
    "compose", cls=shared.PassCommand, epilog=_COMPOSED, short_help="Racks made for a lesson, on one idea."
)
@click.option(
    "--near",
    multiple=True,
    type=_near,
    metavar="NAME:N",
    help="Exactly N tiles away from a HAND, a FAMILY or a HAND/FAMILY (repeatable).",
)
@shared.whole("--flowers", "Exactly this many flowers in the rack.")
@click.option("--holds", metavar="TILES", help="Tiles in it; twice the same: at least two of it.")
@shared.whole("--apart", "Tiles by which any two racks differ at least; 4 by default.")
@click.option("--clear", is_flag=True, help="Short for --difficulty clear.")
@click.option("--close", is_flag=True, help="Short for --difficulty close.")
@shared.whole("--seed", "The same number gives the same racks.", default=0)
@shared.whole("--count", "Racks wanted.", 1, MOST_DEALS, default=1)
@shared.of_deals
@shared.card
@_hands_that_count
@click.option("--answers", is_flag=True, help="Tell the best first pass.")
@shared.as_json
@shared.server
def compose_racks(clear: bool, close: bool, as_json: bool, service: Service, **options: Any) -> None:
    """Compose racks for a lesson: so far from hands, with given tiles, each unlike the others."""
    if clear or close:
        options["difficulty"] = "clear" if clear else "close"
    answer = show_answer("/v1/compositions", question_of(options), as_json, service, composed_text)
    if not answer["complete"]:
        wanted = counted(options["count"], "rack")
        found = f"only {len(answer['deals'])} of {wanted} found: {answer['tried']} tried"
        complain(f"{found}; with fewer wishes, a smaller --apart or a larger --budget there may be more")


def composed_text(answer: Answer) -> str:
    """Return the table for an answer of ``POST /v1/compositions``; nothing if it has no racks."""
    rows = []
    for each in answer["deals"]:
        words, best = each["words"], each["pass"]
        facts = [words["closeness"], words["family"], *([] if best is None else [" ".join(best)])]
        rows.append([f"{' '.join(each['rack']):<{_WIDTH}}", *facts])
    head = ["rack", "how close", "likeliest family", "best pass"]
    return "\n".join("; ".join(cells) for cells in [head[: len(rows[0])], *rows]) if rows else ""


_SHEETS = """
The folder gets problems.html, problems.pdf and problems.csv (racks with space to write), key.html, key.pdf
and key.csv (best pass, gap, two runner-ups, hands kept, why), and sheet.json with all of it. Their paths are
printed. More than 50 problems go into several PDFs.

Racks are dealt from --seed, or your own from --racks FILE ("-" is stdin): JSON Lines, each a rack as a JSON
text or {"rack", "round"}; or CSV with a header that has a column rack, and maybe round; or a rack a line.

Each answer is kept in answers.jsonl as soon as it is known. After an interruption the same command goes on
from there. A folder that has the answers of another request is refused, or with --again made anew. Every
file is the same whatever --jobs and --dask say.

Exit codes: 0 made, 1 refused, 2 wrong usage or a folder of another request, 3 no server reached, 5 a file
could not be written, 130 interrupted.
"""
FORMATS = ("json", "csv", "html", "pdf")
_OF_DEALS = ("count", "start", "tiles", "difficulty", "family", "jokers", "budget")
_PARTS = ("problems", "key")
# As many as the service prints in one PDF.
_PRINTED_AT_ONCE = 50
_CHECKED_AT_ONCE = 50
_NOT_INSTALLED = 501
_IN_RACK = re.compile(r"#/racks/([0-9]{1,6})((?:/.*)?)")


def _formats(written: str) -> tuple[str, ...]:
    found = tuple(dict.fromkeys(each.strip().lower() for each in written.split(",")))
    unknown = [each for each in found if each not in FORMATS]
    if unknown:
        raise click.BadParameter(f"{unknown[0]!r} is none of: {', '.join(FORMATS)}")
    return found


@click.command(cls=shared.PassCommand, epilog=_SHEETS, short_help="Problems to print, and their answer key.")
@shared.whole("--seed", shared.same_deals)
@click.option("--racks", metavar="FILE", help="Racks of your own instead of deals.")
@click.option("--out", required=True, metavar="FOLDER", help="Where the files go; made if it is not there.")
@shared.whole("--count", "Deals wanted; 1 by default, at most 500.", 1, MOST_RACKS)
@shared.whole("--start", "Number of the first deal to try.", 0)
@shared.of_deals
@shared.round_
@shared.card
@shared.drill
@shared.arrivals
@_hands_that_count
@click.option(
    "--paper", type=click.Choice(("letter", "a4")), default="letter", show_default=True, help="Paper."
)
@click.option(
    "--heading",
    multiple=True,
    metavar="TEXT",
    help="Stands above each part: a title, a class, a date; up to three times.",
)
@click.option("--again", is_flag=True, help="Replace what the folder has of another request.")
@click.option(
    "--formats", type=_formats, metavar="LIST", help="Of json,csv,html,pdf; all that can be made by default."
)
@shared.whole("--jobs", "Processes to use.", 1, 256, default=1)
@click.option("--dask", metavar="ADDRESS", help="Share the work on this Dask cluster instead.")
@shared.server
def sheet(
    out: str,
    racks: str | None,
    paper: str,
    heading: tuple[str, ...],
    again: bool,
    formats: tuple[str, ...] | None,
    jobs: int,
    dask: str | None,
    service: Service,
    **options: Any,
) -> None:
    """Make a sheet of problems and its answer key, as files to print and to calculate with."""
    if (options["seed"] is None) == (racks is None):
        raise click.UsageError("give either --seed or --racks")
    if len(heading) > 3 or not all(heading):
        raise click.UsageError("--heading takes one to three lines of text")
    if dask is not None and jobs != 1:
        raise click.UsageError("--jobs and --dask exclude each other")
    if racks is not None and (unused := [name for name in _OF_DEALS if options[name] is not None]):
        raise click.UsageError(f"--{unused[0]} is for racks that are dealt, with --seed")
    count, start, budget = (options.pop(name) for name in ("count", "start", "budget"))
    base = question_of(options)
    if racks is None:
        batch = Batch(base, None, count or 1, start or 0, budget or max(400, 8 * (count or 1)))
    else:
        own = racks_in(content_of(racks), racks)
        batch = Batch(base, own, len(own), 0, len(own))
        check_racks(base, own, service)
    with alone_in(Path(out)):
        folder = Folder(Path(out), batch.digest, again=again)
        with folder.going_on("answer"):
            _answer_all(batch, folder, workers(service, jobs, dask))
            _write_files(batch, folder, service, formats, {"paper": paper, "heading": heading})


def check_racks(base: Mapping[str, Any], racks: Mapping[str, Any], service: Service) -> None:
    """Have the service check all racks before any is answered; every fault is told with its rack's place."""
    faults: dict[str, None] = {}
    for first in range(0, len(racks), _CHECKED_AT_ONCE):
        some = dict(islice(racks.items(), first, first + _CHECKED_AT_ONCE))
        asked = {**base, "racks": [*some.values()], "key": False}
        reply = service.ask("/v1/sheets", encoded(asked))
        if not reply.ok:
            faults.update(dict.fromkeys(_faults_of(reply, [*some])))
    if faults:
        raise Failure(Exit.REFUSED, *faults)


def _faults_of(reply: Reply, places: Sequence[str]) -> list[str]:
    """Return one line a fault, with the place of the rack that has it."""
    lines = []
    for fault in reply.problem().errors:
        found = _IN_RACK.fullmatch(fault.pointer)
        if found is not None and int(found[1]) < len(places):
            within = fault.model_copy(update={"pointer": found[2].removeprefix("/rack")})
            lines.append(f"{places[int(found[1])]}: {within.line}")
        else:
            lines.append(fault.line)
    return lines or reply.faults()


def _answer_all(batch: Batch, folder: Folder, workers: AbstractContextManager[Answering]) -> None:
    places, refused = [*(batch.racks or ())], list[str]()
    progress = Progress(*(("rack", "answered") if places else ("deal", "tried")), answers=False)
    with progress, workers as answering:
        for task, reply in answering(batch.tasks(folder.kept)):
            if places and not reply.ok:
                refused += _faults_of(reply, [places[task]])
            else:
                sheet = reply.answer()["sheet"]
                _ = sheet["problems"], sheet["key"]  # what lacks them would spoil the folder
                folder.keep(task, sheet)
            progress.count(reply.ok)
    if refused:
        raise Failure(Exit.REFUSED, *refused)


def _write_files(
    batch: Batch, folder: Folder, service: Service, formats: Sequence[str] | None, look: Mapping[str, Any]
) -> None:
    """Write the files and print their paths; without formats, all that the service can make."""
    sheet = batch.merged(folder.kept)
    folder.settle(sheet["tried"])
    found = len(sheet["problems"])
    for form in formats or FORMATS:
        if form == "json":
            written = json.dumps(sheet, indent=1, allow_nan=False) + "\n"
            say(str(folder.write("sheet.json", written.encode())))
            continue
        for part, name, some in _files(sheet, form):
            asked = {"sheet": some, "format": form, "part": part, **look}
            reply = service.ask("/v1/sheets/pages", encoded(asked))
            if reply.status == _NOT_INSTALLED and formats is None:
                complain(f"no PDF: {reply.faults()[0]}")
                break
            if not reply.ok:
                raise Failure(Exit.REFUSED, *reply.faults())
            say(str(folder.write(name, reply.body)))
    if found < batch.count:
        wanted, tried = (counted(number, "deal") for number in (batch.count, sheet["tried"]))
        complain(f"only {found} of {wanted} found: {tried} tried")


def _files(sheet: Answer, form: str) -> Iterator[tuple[str, str, Answer]]:
    """Yield part, name and sheet of each file of a form; what is too long for one PDF goes into several."""
    count = len(sheet["problems"])
    each = _PRINTED_AT_ONCE if form == "pdf" else max(1, count)
    for part in _PARTS:
        for first in range(0, max(1, count), each):
            last = min(first + each, count)
            some = {name: sheet[name][first:last] for name in _PARTS}
            name = part if count <= each else f"{part}-{first + 1}-{last}"
            yield part, f"{name}.{form}", {**sheet, **some}
