"""``threepass deal``: racks to practice on, the same for the same seed everywhere."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from api.service import counted
from clients.cli import options as shared
from clients.cli.options import question_of
from clients.cli.output import Exit, Progress, complain, say, write_body
from clients.cli.render import labeled
from clients.cli.service import Answer, Service, encoded, not_threepass, shape_of_threepass

# The service takes no more deals at once; a request that tries this many takes seconds.
MOST_DEALS, MOST_TRIED = 50, 100
# Fourteen tiles with spaces between and quotation marks around, a few of them named by a word.
_RACK = 50

_FORMS = f"""
Each line begins with a rack in quotation marks, to paste behind "threepass advise", into the lines of
"threepass advise -" or as the "rack" of a record. Then come the number of the deal, how close the choice of
its first pass is (toss-up, close, fair, clear), and the family of its likeliest hand. --seed and the number
name the deal for good.

When the budget ends before enough were found, those found are printed and a line on stderr says so; in JSON
"complete" is false. The exit code is 0 all the same.

{shared.EXIT_CODES}
"""


@click.command(
    cls=shared.DealCommand, epilog=_FORMS, short_help="The same racks again, by how hard they are."
)
@click.option("--seed", type=int, required=True, metavar="N", help=shared.same_deals)
@shared.whole("--count", "Deals wanted.", 1, default=1)
@shared.whole("--start", "Number of the first deal to try.", default=0)
@shared.of_deals
@shared.drill
@shared.card
@shared.hands_that_count
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
    wish = question_of(options)
    context.exit(find_deals(wish, count, budget or max(400, 8 * count), context.obj, as_json))


def find_deals(wish: Mapping[str, Any], count: int, budget: int, service: Service, as_json: bool) -> int:
    """Find deals, print them, and return the exit code. An interruption keeps those that were found.

    They are asked for in several requests, so that none takes long and what is found is told at once. In JSON
    they are one object; it is the service's answer as it came when one request was enough.

    Raises:
        RefusedError: the service refused.
        UnreachableError: no answer; deals printed before stay.
    """
    progress = Progress("deal", "tried")
    found: list[Any] = []
    bodies: list[bytes] = []
    tried = 0
    interrupted = False
    try:
        while len(found) < count and tried < budget:
            asked = {
                **wish,
                "start": wish["start"] + tried,
                "count": min(count - len(found), MOST_DEALS),
                "budget": min(budget - tried, MOST_TRIED),
            }
            reply = service.post("/v1/deals", encoded(asked))
            if as_json and not reply.ok:
                write_body(reply.body)
            answer = reply.answer()
            with shape_of_threepass():
                lines = [deal_text(each) for each in answer["deals"]]
                more = int(answer["tried"])
            if more < 1:  # it would be asked for again without end
                raise not_threepass()
            # Counted before it is told: whoever sees it told may interrupt at once.
            found += answer["deals"]
            tried += more
            bodies.append(reply.body)
            progress.count(True, more)
            if not as_json and lines:
                say("\n".join(lines))
    except KeyboardInterrupt:
        interrupted = True
    complete = len(found) >= count
    if as_json:
        whole = {"deals": found, "complete": complete, "tried": tried, "seed": wish["seed"]}
        write_body(bodies[0] if len(bodies) == 1 and not interrupted else encoded(whole))
    progress.end(interrupted)
    if interrupted:
        return Exit.INTERRUPTED
    if not complete:
        complain(f"only {len(found)} of {counted(count, 'deal')} found: the budget was {budget:,}")
    return 0


def deal_text(deal: Answer) -> str:
    """Return the line for a deal, and below it what else was asked for."""
    rack = f'"{" ".join(deal["rack"])}"'
    words = deal["words"]
    facts = f"{deal['index']:>4}  {words['closeness'] or '-':<9}  {words['family'] or '-'}"
    lines = [f"{rack:<{_RACK}}{facts}"]
    if deal["pass"] is not None:
        lines += labeled("pass", " ".join(deal["pass"]), 4, 6)
    if deal["heap"] is not None:
        lines += labeled("heap", " ".join(deal["heap"]), 4, 6)
    return "\n".join(lines)
