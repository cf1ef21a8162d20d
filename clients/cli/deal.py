"""``threepass deal``: racks to practise on, the same for the same seed everywhere."""

from __future__ import annotations

from typing import Any

import click

from clients.cli import options as shared
from clients.cli.question import question_of

_FORMS = """
Each line begins with a rack in quotation marks, to paste behind "threepass advise", into the lines of
"threepass advise -" or as the "rack" of a record. Then come the number of the deal, how close its first pass
is, and the family of its likeliest hand. --seed and the number name the deal for good.

When the budget ends before enough were found, those found are printed and a line on stderr says so; in JSON
"complete" is false. The exit code is 0 all the same.

Exit codes: 0 answered, 1 refused, 2 wrong usage, 3 no server reached, 130 interrupted.
"""


@click.command(epilog=_FORMS)
@click.option("--seed", type=int, required=True, metavar="N", help="Names the series of deals.")
@click.option(
    "--count", type=click.IntRange(1), default=1, show_default=True, metavar="N", help="Deals wanted."
)
@click.option(
    "--start", type=int, default=0, show_default=True, metavar="N", help="Number of the first deal to try."
)
@shared.of_deals
@shared.drill
@shared.card
@shared.hands_that_count
@shared.passes_allowed
@click.option(
    "--budget",
    type=click.IntRange(1),
    metavar="N",
    help="Most deals to try; by default 400, or 8 for each one wanted if that is more.",
)
@click.option("--heap", is_flag=True, help="List the tiles that come in, in order.")
@click.option("--answers", is_flag=True, help="Tell the best first pass.")
@shared.as_json
@shared.server
@click.pass_context
def deal(
    context: click.Context,
    /,
    count: int,
    budget: int | None,
    as_json: bool,
    server: str | None,
    **options: Any,
) -> None:
    """Deal racks from a seed, by how hard their first pass is."""
    from clients.cli.dealing import find_deals
    from clients.cli.transport import Service

    wish = question_of(options)
    with Service(server) as service:
        context.exit(find_deals(wish, count, budget or max(400, 8 * count), service, as_json))
