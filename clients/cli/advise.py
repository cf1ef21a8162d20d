"""``threepass advise``: which tiles to pass."""

from __future__ import annotations

import sys
from typing import Any

import click

from clients.cli import options as shared
from clients.cli.question import at_least, number, question_of, round_name, weight

_ROUNDS = "first-right, first-across, first-left, second-left, second-across, second-right or courtesy."
_FORMS = """
RACK is 13 or 14 tiles: digits and b, c or d for bams, craks and dots; N E W S; green red white; F for a
flower, J for a joker. Spaces are free: "455c 18d 2b N E F F J white green 9b".

RACK "-" reads JSON Lines from stdin, each a rack as a JSON text or a request object, and writes one answer a
line in the same order. Options fill what a line leaves out.

Exit codes: 0 answered, 1 refused, 2 wrong usage, 3 no server reached, 4 some lines failed, 130 interrupted.
"""


@click.command(epilog=_FORMS)
@click.argument("rack", nargs=-1, required=True)
@click.option("--round", type=round_name, metavar="NAME", help=_ROUNDS)
@click.option("--card", metavar="NAME_OR_FILE", help="A card the service has, or a TOML file of your own.")
@click.option(
    "--give", type=int, metavar="N", help="Own tiles to give, where blind or courtesy passes allow."
)
@click.option("--draws", type=int, metavar="N", help="Tiles you expect to draw from the wall.")
@click.option("--claims", type=int, metavar="N", help="Discards you expect to be able to claim.")
@click.option("--charleston", type=int, metavar="N", help="Tiles still to come by exchanges.")
@click.option("--seen", metavar="TILES", help="Tiles seen outside the rack, such as those you passed before.")
@click.option("--stay", metavar="TILES", help="Tiles that must stay.")
@click.option("--go", metavar="TILES", help="Tiles that must go.")
@shared.names("only", "Count only this {}")
@shared.names("without", "Leave out this {}")
@click.option("--weight", type=weight, multiple=True, metavar="HAND=NUMBER", help="How much a hand counts.")
@click.option("--no-pairs", is_flag=True, help="Never pass two alike.")
@click.option("--no-flowers", is_flag=True, help="Never pass a flower.")
@click.option("--no-neighbours", is_flag=True, help="Never pass two of one suit with ranks one apart.")
@click.option("--keep-hands", type=at_least, metavar="N:REACH", help="Keep at least N hands at this reach.")
@click.option("--keep-families", type=at_least, metavar="N:REACH", help="The same for families.")
@click.option("--alternatives", type=int, metavar="N", help="How many runner-up passes to name.")
@click.option("--hands", type=int, metavar="N", help="How many hands kept and given up to list.")
@click.option("--effort", type=number, metavar="X", help="Cap on the solver's work.")
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
