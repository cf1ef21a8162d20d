"""``threepass cards``: the cards there are, what is on one, and whether a file is one."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import quote

import click

from clients.cli import options as shared
from clients.cli.exits import REFUSED


@click.group()
def cards() -> None:
    """List, show and check cards."""


@cards.command("list")
@shared.as_json
@shared.server
def list_(as_json: bool, server: str | None) -> None:
    """List the cards the service has."""
    from clients.cli.render.cards import list_text

    _print("/v1/cards", None, as_json, server, list_text)


@cards.command()
@click.argument("name")
@shared.as_json
@shared.server
def show(name: str, as_json: bool, server: str | None) -> None:
    """Show the hands of the card NAME, with targets, traits and chance."""
    from clients.cli.render.cards import card_text

    _print(f"/v1/cards/{quote(name, safe='')}", None, as_json, server, card_text)


@cards.command()
@click.argument("file")
@shared.as_json
@shared.server
@click.pass_context
def check(context: click.Context, file: str, as_json: bool, server: str | None) -> None:
    """Check the card FILE (TOML): every fault at once, or each hand's targets, traits and chance.

    Exit code 1 when there are faults.
    """
    from clients.cli.card_source import card_from
    from clients.cli.lines import encoded
    from clients.cli.render.cards import check_text

    card = card_from(file)
    answer = _print(
        "/v1/cards/check",
        encoded({"card": card}),
        as_json,
        server,
        lambda answer: check_text(answer, card["file"]),
    )
    context.exit(0 if answer.get("ok") is True else REFUSED)


def _print(
    path: str,
    body: bytes | None,
    as_json: bool,
    server: str | None,
    text_of: Callable[[dict[str, Any]], str],
) -> dict[str, Any]:
    from clients.cli.showing import show_reply
    from clients.cli.transport import Service

    with Service(server) as service:
        reply = service.get(path) if body is None else service.post(path, body)
    return show_reply(reply, as_json, text_of)
