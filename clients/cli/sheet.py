"""``threepass sheet``: problems to print, and their answer key."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from clients.cli import options as shared
from clients.cli.question import question_of

_FORMS = """
The folder gets problems.html, problems.pdf and problems.csv (racks with space to write), key.html, key.pdf
and key.csv (best pass, gap, two runner-ups, hands kept, why), and sheet.json with all of it. Their paths are
printed. More than 100 problems go into several PDFs.

Racks are dealt from --seed, or your own from --racks FILE ("-" is stdin): JSON Lines, each a rack as a JSON
text or {"rack", "round"}; or CSV with a header that has a column rack, and maybe round; or a rack a line.

Each answer is kept in answers.jsonl as soon as it is known. After an interruption the same command goes on
from there. A folder that has the answers of another request is refused. The other files are the same
whatever --jobs and --dask say.

Exit codes: 0 made, 1 refused, 2 wrong usage or a folder of another request, 3 no server reached, 5 a file
could not be written, 130 interrupted.
"""
_FORMATS = ("json", "csv", "html", "pdf")
_MOST = 500
_OF_DEALS = ("count", "start", "tiles", "difficulty", "family", "jokers", "budget")


def _formats(
    _context: click.Context, _option: click.Parameter, written: str | None
) -> tuple[str, ...] | None:
    if written is None:
        return None
    found = tuple(dict.fromkeys(each.strip().lower() for each in written.split(",")))
    unknown = [each for each in found if each not in _FORMATS]
    if unknown:
        raise click.BadParameter(f"{unknown[0]!r} is none of: {', '.join(_FORMATS)}")
    return found


@click.command(epilog=_FORMS)
@click.option("--seed", type=int, metavar="N", help="Names the series of deals.")
@click.option("--racks", metavar="FILE", help="Racks of your own instead of deals.")
@click.option("--out", required=True, metavar="FOLDER", help="Where the files go; made if it is not there.")
@click.option(
    "--count", type=click.IntRange(1, _MOST), metavar="N", help="Deals wanted; 1 by default, at most 500."
)
@click.option("--start", type=click.IntRange(0), metavar="N", help="Number of the first deal to try.")
@shared.of_deals
@click.option(
    "--budget",
    type=click.IntRange(1),
    metavar="N",
    help="Most deals to try; by default 400, or 8 for each one wanted if that is more.",
)
@shared.round_
@shared.card
@shared.drill
@shared.arrivals
@shared.hands_that_count
@shared.passes_allowed
@shared.effort
@click.option("--paper", type=click.Choice(("a4", "letter")), default="a4", show_default=True, help="Paper.")
@click.option(
    "--formats",
    callback=_formats,
    metavar="LIST",
    help="Of json,csv,html,pdf; all that can be made by default.",
)
@click.option(
    "--jobs", type=click.IntRange(1, 256), default=1, show_default=True, metavar="N", help="Processes to use."
)
@click.option("--dask", metavar="ADDRESS", help="Share the work on this Dask cluster instead.")
@shared.server
@click.pass_context
def sheet(
    context: click.Context,
    /,
    out: str,
    racks: str | None,
    count: int | None,
    start: int | None,
    budget: int | None,
    paper: str,
    formats: tuple[str, ...] | None,
    jobs: int,
    dask: str | None,
    server: str | None,
    **options: Any,
) -> None:
    """Make a sheet of problems and its answer key, as files to print and to calculate with."""
    from clients.cli.records import content_of
    from clients.cli.sheets.folder import Folder
    from clients.cli.sheets.making import Wanted, check_racks, make_sheet
    from clients.cli.sheets.racks import racks_in
    from clients.cli.sheets.tasks import Batch
    from clients.cli.transport import Service

    if (options["seed"] is None) == (racks is None):
        raise click.UsageError("give either --seed or --racks", context)
    if dask is not None and jobs != 1:
        raise click.UsageError("--jobs and --dask exclude each other", context)
    said = {**options, "count": count, "start": start, "budget": budget}
    if racks is not None and (unused := [name for name in _OF_DEALS if said[name] is not None]):
        raise click.UsageError(f"--{unused[0]} is for racks that are dealt, with --seed", context)
    base = question_of(options)
    if racks is None:
        most = budget or max(400, 8 * (count or 1))
        batch = Batch(base, None, count or 1, start or 0, most)
    else:
        own = racks_in(content_of(racks), racks)
        batch = Batch(base, own, len(own), 0, len(own))
    with Service(server) as service:
        if batch.racks is not None:
            check_racks(base, batch.racks, service)
        folder = Folder(Path(out), batch.digest)
        context.exit(make_sheet(batch, folder, Wanted(formats, paper, server, jobs, dask), service))
