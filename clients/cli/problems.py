"""Turning the service's problem bodies into lines for people, and its answers into objects."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any
from urllib.parse import unquote

from clients.cli.exits import RefusedError, UnreachableError
from clients.cli.json_text import decoded
from clients.cli.transport import Reply

_CLASH = "urn:threepass:problem:limits-clash"


def object_of(body: bytes) -> dict[str, Any] | None:
    """Return the JSON object that a body is, or None if it is something else."""
    try:
        read = decoded(body)
    except ValueError:
        return None
    return read if isinstance(read, dict) else None


def answer_of(reply: Reply) -> dict[str, Any]:
    """Return the answer in a reply.

    Raises:
        RefusedError: the service refused, with one line a fault.
        UnreachableError: what answered is not threepass.
    """
    if not reply.ok:
        raise RefusedError(lines_of(reply))
    answer = object_of(reply.body)
    if answer is None:
        raise not_threepass()
    return answer


def not_threepass(says: str = "the answer is not one of threepass: is the URL right?") -> UnreachableError:
    """Return the error for an answer that does not have the shape of this API."""
    return UnreachableError([says])


def lines_of(reply: Reply) -> list[str]:
    """Return one line a fault, such as ``rack: column 6: '3x' is not a tile``."""
    problem = object_of(reply.body) or {}
    errors = problem.get("errors")
    faults = [item for item in errors if isinstance(item, Mapping)] if isinstance(errors, list) else []
    lines = [_line(fault) for fault in faults]
    if problem.get("type") == _CLASH:
        # Each of these is a limit, none of them a fault by itself.
        lines.insert(0, "no pass keeps all of these limits:")
    if lines:
        return lines
    said = problem.get("detail") or problem.get("title") or f"the server answered {reply.status}"
    return [_one_line(str(said))]


def _line(fault: Mapping[str, Any]) -> str:
    place, detail = place_of(str(fault.get("pointer", ""))), _one_line(str(fault.get("detail", "")))
    return f"{place}: {detail}" if place else detail


def place_of(pointer: str) -> str:
    """Return a JSON pointer (RFC 6901, as a URI fragment) in words: ``#/seen/2`` is ``seen, item 3``."""
    steps = [
        unquote(step).replace("~1", "/").replace("~0", "~")
        for step in pointer.removeprefix("#").split("/")[1:]
    ]
    if steps[:1] == ["card"]:
        # The detail of a card's fault names the file, the line and the hand itself.
        return "card"
    return ", ".join(f"item {int(step) + 1}" if re.fullmatch("[0-9]{1,6}", step) else step for step in steps)


def _one_line(text: str) -> str:
    return " ".join(text.split())
