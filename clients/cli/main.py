"""The command ``threepass``: its subcommands in one group, and the server among them."""

from __future__ import annotations

import json
import os
import signal
import sys
from pathlib import Path
from threading import Thread
from typing import Any

import click

from clients.cli.advise import advise, plan, vote
from clients.cli.cards import cards
from clients.cli.deals import deal, sheet
from clients.cli.options import whole
from clients.cli.output import Exit, UsageFault, open_closed_streams, unwritten, write_body
from clients.cli.practice import practice
from clients.cli.progress import progress
from clients.cli.review import review
from clients.cli.service import CARDS_FOLDER, cards_folder

PAGES = Path(__file__).parents[1] / "web"
PORT = 8347
_ALIASES = {"practise": "practice"}


class _Group(click.Group):
    """Knows other spellings, and ends with the exit code of an interruption, not with that of a failure."""

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        return super().get_command(ctx, _ALIASES.get(cmd_name, cmd_name))

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt:
            raise click.exceptions.Exit(Exit.INTERRUPTED) from None


@click.group(cls=_Group)
@click.version_option(package_name="threepass", message="%(prog)s %(version)s")
def cli() -> None:
    """What should I pass? Advice for the Charleston of American-style mah-jongg."""


@click.command()
@click.option(
    "--host", default="127.0.0.1", show_default=True, metavar="ADDRESS", help="Address to listen on."
)
@whole("--port", "Port.", 0, 65535, default=PORT)
@whole("--workers", "Server processes; the cores are shared out among them.", 1, 64, default=1)
@click.option(
    "--cards",
    "folder",
    type=click.Path(path_type=Path),
    help="Folder of more cards, a TOML file each; by default `cards` in your data folder.",
)
@click.option(
    "--describe", is_flag=True, help="Write the service's OpenAPI description to stdout and serve nothing."
)
@click.option(
    "--until-input-ends", is_flag=True, help="End when standard input does, with the program that started it."
)
def serve(
    host: str, port: int, workers: int, folder: Path | None, describe: bool, until_input_ends: bool
) -> None:
    """Answer over HTTP until stopped; the web page is at /."""
    if describe:
        from api.service import describe as description

        write_body(json.dumps(description(), indent=1).encode() + b"\n")
        return
    from api.server import serve as run

    if until_input_ends:
        Thread(target=_end_with_input, daemon=True).start()
    # Worker processes inherit it.
    os.environ[CARDS_FOLDER] = str(folder or cards_folder())
    try:
        run(host, port, workers, PAGES)
    except ValueError as error:  # a setting in the environment is faulty
        raise UsageFault([str(error)]) from None


def _end_with_input() -> None:
    while os.read(0, 4096):
        pass
    os.kill(os.getpid(), signal.SIGTERM)


for command in (advise, vote, plan, review, deal, sheet, cards, serve, practice, progress):
    cli.add_command(command)


def main() -> None:
    """Run the command."""
    open_closed_streams()
    try:
        cli(prog_name="threepass")
    except KeyboardInterrupt:
        sys.exit(Exit.INTERRUPTED)
    except OSError as error:
        if error.filename is not None:  # a file: the streams have no name
            raise
        sys.exit(unwritten(error))


if __name__ == "__main__":
    main()
