"""``threepass practise``: timed drills."""

from __future__ import annotations

import secrets
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic

import click

from clients.cli import options as shared
from clients.cli.practice.rounds import MOST_ROUNDS

_SEEDS = 1_000_000
_MOST_SEED = 2**63 - 1


@click.command()
@click.option(
    "--rounds",
    type=click.IntRange(1, MOST_ROUNDS),
    default=3,
    show_default=True,
    metavar="N",
    help="Rounds of each lap, in the order they are played.",
)
@click.option(
    "--laps", type=click.IntRange(min=1), default=1, show_default=True, metavar="N", help="How many laps."
)
@click.option(
    "--seed", type=click.IntRange(0, _MOST_SEED), metavar="N", help="Names the deals; without it, any."
)
@click.option(
    "--start",
    type=click.IntRange(0, _MOST_SEED),
    default=0,
    show_default=True,
    metavar="INDEX",
    help="First deal of the seed to try.",
)
@click.option(
    "--card",
    default="full",
    show_default=True,
    metavar="NAME_OR_FILE",
    help="A card the service has, or a TOML file of your own.",
)
@click.option(
    "--difficulty",
    type=click.Choice(["any", "clear", "close"]),
    default="any",
    show_default=True,
    help="Of the first pass: whether one stands out or several are close.",
)
@click.option("--log", metavar="FILE", help="Append the laps here, not to the log in your data folder.")
@click.option("--no-log", is_flag=True, help="Keep no log.")
@shared.server
@click.pass_context
def practise(
    context: click.Context,
    /,
    rounds: int,
    laps: int,
    seed: int | None,
    start: int,
    card: str,
    difficulty: str,
    log: str | None,
    no_log: bool,
    server: str | None,
) -> None:
    """Practise the Charleston against the clock.

    Each lap deals fourteen tiles and a heap without jokers in place of the other players. Only the time
    from seeing the rack to the last pass counts. Then every pass is graded, and the lap is appended to a
    log of JSON lines that is yours: see `threepass progress`.

    Exit codes: 0 played, 1 refused, 2 wrong usage, 3 no server reached, 5 a lap could not be logged (its
    line is on stderr), 130 interrupted (the lap under way is logged as not finished).
    """
    from clients.cli.card_source import card_of
    from clients.cli.practice.console import Console
    from clients.cli.practice.interrupts import Interrupts
    from clients.cli.practice.log_writing import default_path
    from clients.cli.practice.session import Session, Wanted
    from clients.cli.transport import Service

    if log is not None and no_log:
        raise click.UsageError("--log and --no-log exclude each other", context)
    source = card_of(card)
    wanted = Wanted(
        card=source,
        card_name=source if isinstance(source, str) else source["file"],
        card_option=card,
        rounds=rounds,
        laps=laps,
        seed=secrets.randbelow(_SEEDS) if seed is None else seed,
        start=start,
        difficulty=difficulty,
        log=None if no_log else default_path() if log is None else Path(log),
    )
    with Service(server) as service, Interrupts() as interrupts:
        code = Session(wanted, service, Console(interrupts), interrupts, monotonic, _now).run()
    context.exit(code)


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
