"""``threepass serve``: the API and the web page as a server."""

from __future__ import annotations

from pathlib import Path

import click

from clients.cli.exits import UsageFault

PAGES = Path(__file__).parents[1] / "web"


@click.command()
@click.option(
    "--host", default="127.0.0.1", show_default=True, metavar="ADDRESS", help="Address to listen on."
)
@click.option("--port", default=8333, show_default=True, type=click.IntRange(0, 65535), help="Port.")
@click.option(
    "--workers",
    default=1,
    show_default=True,
    type=click.IntRange(1, 64),
    metavar="N",
    help="Server processes; the cores are shared out among them.",
)
def serve(host: str, port: int, workers: int) -> None:
    """Answer over HTTP until stopped; the web page is at /."""
    from api.server import serve as run

    try:
        run(host, port, workers, PAGES)
    except ValueError as error:  # a setting in the environment is faulty
        raise UsageFault([str(error)]) from None
