"""``threepass vote``: stop after the first Charleston, or go on?"""

from __future__ import annotations

from typing import Any

import click

from clients.cli import options as shared
from clients.cli.question import question_of

_FORMS = """
RACK is the rack after the first left pass. Both ways are played with the same incoming tiles, the best pass
each time, until the order is clear or the samples end.

Exit codes: 0 answered, 1 refused, 2 wrong usage, 3 no server reached, 130 interrupted.
"""


@click.command(epilog=_FORMS)
@click.argument("rack", nargs=-1, required=True)
@shared.card
@shared.seen
@click.option("--courtesy", type=int, metavar="N", help="Tiles you expect to exchange at the courtesy pass.")
@click.option("--samples", type=int, metavar="N", help="Most samples to take.")
@click.option("--seed", type=int, metavar="N", help="Names the luck of the samples.")
@shared.draws
@shared.claims
@shared.hands_that_count
@shared.effort
@shared.as_json
@shared.server
def vote(rack: tuple[str, ...], as_json: bool, server: str | None, **options: Any) -> None:
    """Say whether to vote for a second Charleston with RACK, and how sure that is."""
    from clients.cli.lines import encoded
    from clients.cli.render.vote import vote_text
    from clients.cli.showing import show_reply
    from clients.cli.transport import Service

    if (options["draws"] is None) != (options["claims"] is None):
        raise click.UsageError("--draws and --claims go together: give both or none")
    # The exchanges of either way are played out: the service counts no others.
    charleston = None if options["draws"] is None else 0
    question = question_of({**options, "charleston": charleston})
    with Service(server) as service:
        reply = service.post("/v1/votes", encoded({"rack": " ".join(rack), **question}))
    show_reply(reply, as_json, vote_text)
