"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from clients.cli.question import at_least, number, round_name, weight

Command = Callable[..., Any]
Option = Callable[[Command], Command]


def names(part: str, says: str) -> Option:
    """Return a decorator that adds ``--PART-family``, ``--PART-hand`` and ``--PART-trait``."""
    return together(
        *(
            click.option(
                f"--{part}-{sort}", multiple=True, metavar="NAME", help=says.format(sort) + " (repeatable)."
            )
            for sort in ("family", "hand", "trait")
        )
    )


def together(*options: Option) -> Option:
    """Return a decorator that adds several options, in this order."""

    def add(command: Command) -> Command:
        for option in reversed(options):
            command = option(command)
        return command

    return add


server = click.option(
    "--server", metavar="URL", help="Ask this server; without it the same service runs in this process."
)
as_json = click.option(
    "--json", "as_json", is_flag=True, help="Print the service's answer as it is, in JSON."
)
round_ = click.option(
    "--round",
    type=round_name,
    metavar="NAME",
    help="first-right, first-across, first-left, second-left, second-across, second-right or courtesy.",
)
card = click.option(
    "--card", metavar="NAME_OR_FILE", help="A card the service has, or a TOML file of your own."
)
give = click.option(
    "--give",
    type=int,
    metavar="N",
    help="Own tiles to give, where blind or courtesy passes allow; without it every number is compared.",
)
drill = together(
    click.option(
        "--drill", type=int, metavar="EXCHANGES_LEFT", help="A drill with a heap, and how often yet."
    ),
    click.option("--then-draws", type=int, metavar="N", help="Tiles a drill draws after its exchanges."),
)
draws = click.option("--draws", type=int, metavar="N", help="Tiles you expect to draw from the wall.")
claims = click.option("--claims", type=int, metavar="N", help="Discards you expect to be able to claim.")
arrivals = together(
    draws,
    claims,
    click.option("--charleston", type=int, metavar="N", help="Tiles still to come by exchanges."),
)
seen = click.option(
    "--seen", metavar="TILES", help="Tiles seen outside the rack, such as those you passed before."
)
stay_and_go = together(
    click.option("--stay", metavar="TILES", help="Tiles that must stay."),
    click.option("--go", metavar="TILES", help="Tiles that must go."),
)
hands_that_count = together(
    names("only", "Count only this {}"),
    names("without", "Leave out this {}"),
    click.option(
        "--weight", type=weight, multiple=True, metavar="HAND=NUMBER", help="How much a hand counts."
    ),
)
passes_allowed = together(
    click.option("--no-pairs", is_flag=True, help="Never pass two alike."),
    click.option("--no-flowers", is_flag=True, help="Never pass a flower."),
    click.option("--no-neighbours", is_flag=True, help="Never pass two of one suit with ranks one apart."),
    click.option(
        "--keep-hands", type=at_least, metavar="N:REACH", help="Keep at least N hands at this reach."
    ),
    click.option("--keep-families", type=at_least, metavar="N:REACH", help="The same for families."),
)
effort = click.option("--effort", type=number, metavar="X", help="Cap on the solver's work.")
of_deals = together(
    click.option("--tiles", type=int, metavar="13|14", help="Tiles in a rack."),
    click.option(
        "--difficulty",
        type=str.lower,
        metavar="any|clear|close",
        help="How far the best pass must stand out.",
    ),
    click.option("--family", metavar="NAME", help="Family of the likeliest hand."),
    click.option("--jokers", type=int, metavar="N", help="Exactly so many jokers in the rack."),
)
