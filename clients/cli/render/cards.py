"""Cards on a page: the list of them, one of them, and the result of checking a file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clients.cli.render.layout import entry, labelled, paragraph
from clients.cli.render.words import counted, percent

Answer = Mapping[str, Any]


def list_text(answer: Answer) -> str:
    """Return the page for ``GET /v1/cards``.

    Raises:
        KeyError, TypeError, ValueError, AttributeError: the answer does not have that shape.
    """
    blocks = []
    for card in answer["cards"]:
        size = f"{counted(card['hands'], 'hand')}, {counted(card['targets'], 'target')}"
        lines = labelled(card["name"], f"{card['title']}: {size}", 0, 10)
        blocks.append("\n".join([*lines, *labelled("", ", ".join(card["families"]), 0, 10)]))
    return "\n".join(blocks) or "no cards"


def card_text(answer: Answer) -> str:
    """Return the page for ``GET /v1/cards/{name}``.

    Raises:
        KeyError, TypeError, ValueError, AttributeError: the answer does not have that shape.
    """
    size = f"{counted(len(answer['hands']), 'hand')}, {counted(answer['targets'], 'target')}"
    lines = [
        *paragraph(f"{answer['title']}: {size}", 0),
        *paragraph(
            "The chance is that of completing the hand's best target from a random deal, by the model.", 0
        ),
    ]
    for family in answer["families"]:
        lines += ["", family]
        for hand in answer["hands"]:
            if hand["family"] == family:
                lines += _hand(hand)
    return "\n".join(lines)


def check_text(answer: Answer, file: str) -> str:
    """Return the page for ``POST /v1/cards/check``.

    Args:
        answer: The answer.
        file: The name of the file that was checked.

    Raises:
        KeyError, TypeError, ValueError, AttributeError: the answer does not have that shape.
    """
    faults, remarks = answer["faults"], answer["remarks"]
    lines = [f"{file}: {counted(len(faults), 'fault') if faults else 'no faults'}"]
    for fault in faults:
        lines += paragraph(" ".join(fault["detail"].split()))
    if remarks:
        lines += ["", "Worth a second look"]
        for remark in remarks:
            lines += paragraph(f"hand {remark['hand'] + 1}: {remark['detail']}")
    if answer["card"] is not None:
        lines += ["", card_text(answer["card"])]
    return "\n".join(lines)


def _hand(hand: Answer) -> list[str]:
    facts = [
        *(["concealed"] if hand["concealed"] else []),
        *([f"weight {hand['weight']:g}"] if hand["weight"] != 1 else []),
        *hand["traits"],
    ]
    lines = entry(percent(hand["chance"]), hand["name"], counted(hand["targets"], "target"))
    for index, groups in enumerate(hand["groups"]):
        where = f"  where {hand['where']}" if hand["where"] and index == len(hand["groups"]) - 1 else ""
        lines += labelled("or" if index else "", groups + where, 15, 3)
    return lines + (labelled("", ", ".join(facts), 15, 3) if facts else [])
