"""The look-ahead, on a page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clients.cli.render.layout import paragraph
from clients.cli.render.table import table
from clients.cli.render.words import counted, fine, hands, tokens_in_groups


def ahead_lines(ahead: Mapping[str, Any] | None) -> list[str]:
    """Return the passes compared by what they lead to; nothing when that was not asked for.

    Args:
        ahead: The member ``look_ahead`` of an answer.

    Raises:
        KeyError, TypeError, ValueError, LookupError: it does not have that shape.
    """
    if ahead is None:
        return []
    chosen = ahead["passes"][ahead["chosen"]]["pass"]
    if ahead["changed"]:
        says = f"Rather pass {tokens_in_groups(chosen)}: it is clearly ahead of the plain answer."
    else:
        says = "The plain answer stands: no other pass is clearly ahead of it."
    rows = [
        [hands(each["mean"]), fine(each["behind"]), fine(each["error"]), tokens_in_groups(each["pass"])]
        for each in ahead["passes"]
    ]
    return [
        f"Looking ahead over {counted(ahead['exchanges'], 'exchange')}, "
        f"{counted(ahead['samples'], 'sample')} of what comes in",
        *paragraph(says),
        *table(["Expected hands", "Behind", "Error", "Pass"], rows, right=range(3)),
    ]
