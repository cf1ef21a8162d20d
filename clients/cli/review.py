"""``threepass review``: how good was a recorded Charleston?"""

from __future__ import annotations

from typing import Any

import click

from clients.cli import options as shared
from clients.cli.card_source import card_of
from clients.cli.exits import RefusedError
from clients.cli.output import complain, write_body

# As many as the service takes in one request.
MOST_RECORDS = 20

_FORMS = """
FILE is JSON: one record, or {"records": [...]}; or JSON Lines of many records; or a practice log. "-" is
stdin. A record is {"rack", "exchanges": [{"round", "given", "received", "blind", "seconds"}, ...], "card",
"drill"}; blind, seconds, card and drill may be left out. Blank lines and laps that were not finished are
skipped.

Each pass is compared with the best at that moment. "As good" says yes where the two cannot be told apart.
Hindsight, which knows what came in, stands apart and is no part of the grade.

A record that cannot have happened is refused with every fault: exit code 1 for a record alone, or in its
place among others, and then exit code 4. With --json, JSON Lines are answered line by line, the service's
answer or its problem for each record, and the averages over all laps last.

Exit codes: 0 answered, 1 refused, 2 wrong usage, 3 no server reached, 4 some failed, 130 interrupted.
"""


@click.command(epilog=_FORMS)
@click.argument("file")
@click.option("--card", metavar="NAME_OR_FILE", help="The card of records that name none.")
@shared.effort
@shared.as_json
@shared.server
@click.pass_context
def review(
    context: click.Context,
    file: str,
    card: str | None,
    effort: float | None,
    as_json: bool,
    server: str | None,
) -> None:
    """Grade each pass of the Charlestons recorded in FILE, and average over them."""
    from clients.cli.laps import AsLines, AsObject, AsText, faults_of, review_laps
    from clients.cli.records import content_of, written_in
    from clients.cli.render.review import reviews_text
    from clients.cli.showing import show_reply
    from clients.cli.transport import Service

    written = written_in(content_of(file), None if card is None else card_of(card), effort)
    if written.skipped:
        complain(f"skipped, as not finished: {', '.join(written.skipped)}")
    if not written.entries:
        complain("no laps to review")
    alone = not written.lines and written.whole is None and len(written.entries) == 1
    with Service(server) as service:
        if alone:
            reply = service.post("/v1/reviews", written.entries[0].body)
            if not reply.ok:
                if as_json:
                    write_body(reply.body)
                raise RefusedError(faults_of(reply))
            show_reply(reply, as_json, reviews_text)
            return
        telling: Any = AsText()
        if as_json:
            telling = AsLines() if written.lines else AsObject()
            if written.whole is not None and len(written.entries) <= MOST_RECORDS:
                reply = service.post("/v1/reviews", written.whole)
                if reply.ok:
                    show_reply(reply, True, reviews_text)
                    return
        context.exit(review_laps(written.entries, service, telling))
