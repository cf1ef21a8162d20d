"""``threepass plan``: which tiles go now, and which go next."""

from __future__ import annotations

from typing import Any

import click

from clients.cli import options as shared
from clients.cli.question import question_of

_FORMS = """
The plan takes what comes in to be of no use: it is the order in which to let one's own tiles go.

Exit codes: 0 answered, 1 refused, 2 wrong usage, 3 no server reached, 130 interrupted.
"""


@click.command(epilog=_FORMS)
@click.argument("rack", nargs=-1, required=True)
@shared.round_
@click.option("--rounds", type=int, metavar="N", help="Rounds to plan, this one included.")
@shared.card
@shared.give
@shared.drill
@shared.arrivals
@shared.seen
@shared.stay_and_go
@shared.hands_that_count
@shared.passes_allowed
@shared.effort
@shared.as_json
@shared.server
@click.pass_context
def plan(
    context: click.Context, /, rack: tuple[str, ...], as_json: bool, server: str | None, **options: Any
) -> None:
    """Say which tiles of RACK go now, and which go in the rounds after that."""
    from clients.cli.lines import encoded
    from clients.cli.render.plan import plan_text
    from clients.cli.showing import show_reply
    from clients.cli.transport import Service

    if options["round"] is None:
        raise click.UsageError("Missing option '--round'.", context)
    question = question_of(options)
    with Service(server) as service:
        reply = service.post("/v1/plans", encoded({"rack": " ".join(rack), **question}))
    show_reply(reply, as_json, plan_text)
