"""One hand within reach, on a page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clients.cli.render.layout import entry, labelled
from clients.cli.render.words import counted, percent, tokens_in_groups


def hand_lines(hand: Mapping[str, Any]) -> list[str]:
    """Return a hand's chance and name, and its tiles: all, held, missing.

    Raises:
        KeyError, TypeError, ValueError: the hand does not have the shape the API gives it.
    """
    away = "complete" if hand["tiles_away"] == 0 else f"{counted(hand['tiles_away'], 'tile')} away"
    name = f"{hand['name']} ({hand['family']}{', concealed' if hand['concealed'] else ''})"
    now, before = percent(hand["reach"]), percent(hand["reach_before"])
    was = f", was {before}" if before != now else ""
    known = hand["alone"] is not None and hand["tiles_away"] > 0
    alone = f", {percent(hand['alone'])} alone" if known else ""
    jokers = f"  ({counted(hand['jokers_used'], 'joker')} used)" if hand["jokers_used"] else ""
    return [
        *entry(now, name, away + was + alone),
        *labelled("tiles", tokens_in_groups(hand["target"]), 15, 9),
        *labelled("held", tokens_in_groups(hand["served_by"]) + jokers, 15, 9),
        *labelled("missing", tokens_in_groups(hand["missing"]), 15, 9),
    ]


def some_hand_lines(chance: float | None) -> list[str]:
    """Return the chance of completing some hand, labelled; nothing where it is not known."""
    if chance is None:
        return []
    return labelled("Some hand", f"{percent(chance)} to complete one, as simulated tables went")
