"""The command ``threepass``: its subcommands in one group."""

from __future__ import annotations

import sys
from typing import Any

import click

from clients.cli.advise import advise
from clients.cli.cards import cards
from clients.cli.exits import INTERRUPTED
from clients.cli.serve import serve


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
cli.add_command(cards)
cli.add_command(serve)


def main() -> None:
    """Run the command; the entry point of the package."""
    try:
        cli(prog_name="threepass")
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
