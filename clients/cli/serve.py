"""``threepass serve``: the API as a server."""

from __future__ import annotations

import click

from clients.cli.exits import UsageFault


@click.command()
@click.option(
    "--host", default="127.0.0.1", show_default=True, metavar="ADDRESS", help="Address to listen on."
)
@click.option("--port", default=8333, show_default=True, type=click.IntRange(0, 65535), help="Port.")
def serve(host: str, port: int) -> None:
    """Answer over HTTP until stopped."""
    from api.server import serve as run

    try:
        run(host, port)
    except ValueError as error:  # a setting in the environment is faulty
        raise UsageFault([str(error)]) from None
