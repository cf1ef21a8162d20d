"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

Command = Callable[..., Any]

server = click.option(
    "--server", metavar="URL", help="Ask this server; without it the same service runs in this process."
)
as_json = click.option(
    "--json", "as_json", is_flag=True, help="Print the service's answer as it is, in JSON."
)


def names(part: str, says: str) -> Callable[[Command], Command]:
    """Return a decorator that adds ``--PART-family``, ``--PART-hand`` and ``--PART-trait``."""

    def add(command: Command) -> Command:
        for sort in ("trait", "hand", "family"):
            option = click.option(
                f"--{part}-{sort}", multiple=True, metavar="NAME", help=says.format(sort) + " (repeatable)."
            )
            command = option(command)
        return command

    return add
