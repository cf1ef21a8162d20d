"""The command ``threepass``: its subcommands in one group."""

from __future__ import annotations

import sys
from typing import Any

import click

from clients.cli.advise import advise
from clients.cli.cards import cards
from clients.cli.deal import deal
from clients.cli.exits import INTERRUPTED
from clients.cli.plan import plan
from clients.cli.practice.practise import practise
from clients.cli.practice.progress import progress
from clients.cli.review import review
from clients.cli.serve import serve
from clients.cli.sheet import sheet
from clients.cli.vote import vote


class _Group(click.Group):
    """Ends with the exit code of an interruption, where click would call it a plain failure."""

    def invoke(self, context: click.Context) -> Any:
        try:
            return super().invoke(context)
        except KeyboardInterrupt:
            raise click.exceptions.Exit(INTERRUPTED) from None


@click.group(cls=_Group)
@click.version_option(package_name="threepass", message="%(prog)s %(version)s")
def cli() -> None:
    """What should I pass? Advice for the Charleston of American-style mah-jongg."""


cli.add_command(advise)
cli.add_command(vote)
cli.add_command(plan)
cli.add_command(review)
cli.add_command(deal)
cli.add_command(sheet)
cli.add_command(cards)
cli.add_command(serve)
cli.add_command(practise)
cli.add_command(progress)


def main() -> None:
    """Run the command; the entry point of the package."""
    try:
        cli(prog_name="threepass")
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
