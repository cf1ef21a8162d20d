"""``threepass advise``: which tiles to pass."""

from __future__ import annotations

import sys
from typing import Any

import click

from clients.cli import options as shared
from clients.cli.question import question_of

_FORMS = """
RACK is 13 or 14 tiles: digits and b, c or d for bams, craks and dots; N E W S; green red white; F for a
flower, J for a joker. Spaces are free: "455c 18d 2b N E F F J white green 9b".

RACK "-" reads JSON Lines from stdin, each a rack as a JSON text or a request object, and writes one answer a
line in the same order. Options fill what a line leaves out.

Exit codes: 0 answered, 1 refused, 2 wrong usage, 3 no server reached, 4 some lines failed, 130 interrupted.
"""


@click.command(epilog=_FORMS)
@click.argument("rack", nargs=-1, required=True)
@shared.round_
@shared.card
@shared.give
@shared.drill
@shared.arrivals
@shared.seen
@shared.stay_and_go
@shared.hands_that_count
@shared.passes_allowed
@click.option("--alternatives", type=int, metavar="N", help="How many runner-up passes to name.")
@click.option("--hands", type=int, metavar="N", help="How many hands kept and given up to list.")
@click.option("--why", is_flag=True, help="Say what each tile would cost instead, and what would change it.")
@click.option(
    "--look-ahead", type=int, metavar="SAMPLES", help="Compare the best passes by what later exchanges bring."
)
@click.option("--look-ahead-seed", type=int, metavar="N", help="Names the luck of the samples.")
@shared.effort
@shared.as_json
@shared.server
@click.pass_context
def advise(
    context: click.Context, /, rack: tuple[str, ...], as_json: bool, server: str | None, **options: Any
) -> None:
    """Say which tiles to pass from RACK, and what that keeps and gives up."""
    from clients.cli.lines import answer_lines, encoded
    from clients.cli.render.advice import advice_text
    from clients.cli.showing import show_reply
    from clients.cli.transport import Service

    if rack != ("-",) and options["round"] is None:
        raise click.UsageError("Missing option '--round'.", context)
    question = question_of(options)
    with Service(server) as service:
        if rack == ("-",):
            context.exit(answer_lines(sys.stdin.buffer, question, service))
        reply = service.post("/v1/advice", encoded({"rack": " ".join(rack), **question}))
    show_reply(reply, as_json, advice_text)
