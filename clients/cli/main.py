"""The command ``threepass``: its subcommands in one group, and the server among them."""

from __future__ import annotations

import sys
from typing import NoReturn

import click

from clients.cli.advise import advise, plan, vote
from clients.cli.cards import cards
from clients.cli.deals import compose_racks, deal, sheet
from clients.cli.output import Exit, Failure, open_closed_streams, said_by, unwritten
from clients.cli.practice import practice
from clients.cli.progress import class_table, progress
from clients.cli.review import review
from clients.cli.serve import serve

_ALIASES = {"practise": "practice"}


class _Group(click.Group):
    """Knows other spellings, and ends with the code that a command returns, or one for what befell it."""

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        return super().get_command(ctx, _ALIASES.get(cmd_name, cmd_name))

    def invoke(self, ctx: click.Context) -> NoReturn:
        try:
            ctx.exit(super().invoke(ctx) or Exit.ANSWERED)
        except KeyboardInterrupt:
            ctx.exit(Exit.INTERRUPTED)
        except OSError as error:
            if error.filename is None:  # a stream: only files have names
                raise
            raise Failure(Exit.NOT_WRITTEN, f"{error.filename}: {said_by(error)}") from None


@click.group(cls=_Group)
@click.version_option(package_name="threepass", message="%(prog)s %(version)s")
def cli() -> None:
    """What should I pass? Advice for the Charleston of American-style mah-jongg."""


for command in (
    *(advise, vote, plan, review, deal, compose_racks, sheet, cards, serve),
    *(practice, progress, class_table),
):
    cli.add_command(command)


def main() -> None:
    """Run the command."""
    open_closed_streams()
    try:
        cli(prog_name="threepass")
    except KeyboardInterrupt:
        sys.exit(Exit.INTERRUPTED)
    except OSError as error:
        sys.exit(unwritten(error))


if __name__ == "__main__":
    main()
