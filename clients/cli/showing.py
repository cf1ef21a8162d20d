"""Showing a reply: the body as it came for programs, a page of text for people."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from clients.cli.output import say, write_body
from clients.cli.problems import answer_of, not_threepass
from clients.cli.transport import Reply


def show_reply(reply: Reply, as_json: bool, text_of: Callable[[dict[str, Any]], str]) -> dict[str, Any]:
    """Print a reply and return the answer in it. With ``as_json`` a refusal's body is printed as well.

    Args:
        reply: What the service said.
        as_json: Print the body byte for byte.
        text_of: Makes the page for people out of an answer.

    Raises:
        RefusedError: the service refused.
        UnreachableError: what answered is not threepass.
    """
    if as_json:
        write_body(reply.body)
    answer = answer_of(reply)
    if not as_json:
        try:
            text = text_of(answer)
        except (LookupError, TypeError, ValueError, AttributeError):
            raise not_threepass() from None
        say(text)
    return answer
