"""Blind and courtesy passes: the best tiles for each number, on a page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from clients.cli.render.table import table
from clients.cli.render.words import fine, hands, tokens_in_groups


def number_lines(by_number: Sequence[Mapping[str, Any]], chosen: int) -> list[str]:
    """Return a table of the numbers compared; nothing when only one was.

    Args:
        by_number: The numbers, fewest own tiles first, as the API gives them.
        chosen: How many own tiles the answer gives.

    Raises:
        KeyError, TypeError, ValueError: they do not have that shape.
    """
    if len(by_number) < 2:
        return []
    blind = any(value["blind"] for value in by_number)
    rows = []
    for value in by_number:
        row = [str(value["give"]), str(value["blind"]), hands(value["expected_hands"]), fine(value["gain"])]
        best = "  (best)" if value["give"] == chosen else ""
        row.append(tokens_in_groups(value["pass"]) + best)
        rows.append(row if blind else [row[0], *row[2:]])
    head = ["Own", *(["Blind"] if blind else []), "Expected hands", "Gain", "Best tiles for that number"]
    return [
        "Each number that may go, and its gain over the fewest",
        *table(head, rows, right=range(len(head) - 1)),
    ]
