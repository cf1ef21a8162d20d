"""Why a pass is best, on a page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clients.cli.render.assumed import coming
from clients.cli.render.layout import paragraph
from clients.cli.render.table import table
from clients.cli.render.words import fine, tile_words, tokens_in_groups

Answer = Mapping[str, Any]


def why_lines(why: Answer | None, advised: list[str]) -> list[str]:
    """Return the reasons; nothing when none were asked for.

    Args:
        why: The member ``why`` of an answer.
        advised: The pass of the answer.

    Raises:
        KeyError, TypeError, ValueError, AttributeError: it does not have that shape.
    """
    if why is None:
        return []
    lines = ["Why", *paragraph(" ".join(why["sentence"].split()))]
    if why["costs"]:
        rows = [_cost(cost, advised) for cost in why["costs"]]
        lines += ["", "What it costs to pass a tile, the others chosen best"]
        lines += table(["Tile", "Cost", "Best pass with it"], rows, right=[1])
    if why["sensitivity"]:
        lines += ["", "If fewer or more tiles come"]
        for each in why["sensitivity"]:
            lines += paragraph(_sensitivity(each))
    return lines


def _cost(cost: Answer, advised: list[str]) -> list[str]:
    tile = tile_words(cost["tile"])
    if cost["pass"] is None:
        return [tile, "-", "the limits allow no pass with it"]
    if cost["pass"] == advised:
        return [tile, fine(cost["cost"]), "in the advised pass"]
    return [tile, fine(cost["cost"]), tokens_in_groups(cost["pass"])]


def _sensitivity(each: Answer) -> str:
    comes = f"{100 * each['share']:.0f} % as many, {coming(each['arrivals'])}"
    if each["same"]:
        return f"{comes}: the same pass."
    return f"{comes}: {tokens_in_groups(each['pass'])} is better, by {fine(each['regret'])} hands."
