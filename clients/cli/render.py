"""Pages of plain text: 80 columns, nothing by color alone. The words in them are the service's."""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import groupby
from typing import Any

WIDTH = 80
_LABEL = 18
_GAP = 2
_NARROWEST = 8
_NO_BREAK = "\u00a0"


def labeled(label: str, text: str, indent: int = 2, column: int = _LABEL) -> list[str]:
    """Return lines with a label in front; what does not fit goes on below the text."""
    first = " " * indent + label.ljust(column)
    return _wrapped(text, first, " " * len(first))


def entry(figure: str, name: str, note: str = "", column: int = 11) -> list[str]:
    """Return a line with a figure, a name, and a note at the right edge if there is room for it."""
    first = "  " + figure.rjust(column) + "  "
    if note and len(first) + len(name) + 2 + len(note) <= WIDTH:
        return [(first + name).ljust(WIDTH - len(note)) + note]
    lines = _wrapped(name, first, " " * len(first))
    return lines + (_wrapped(note, " " * len(first), " " * len(first)) if note else [])


def paragraph(text: str, indent: int = 2) -> list[str]:
    """Return a wrapped paragraph; its second line and the next hang by two."""
    return _wrapped(text, " " * indent, " " * (indent + 2))


def page(blocks: Iterable[Sequence[str]]) -> str:
    """Return blocks of lines with a blank line between; blocks of none are left out."""
    return "\n\n".join("\n".join(block) for block in blocks if block)


def table(
    head: Sequence[str], rows: Sequence[Sequence[str]], right: Collection[int] = (), indent: int = 2
) -> list[str]:
    """Return the lines of a table; columns are as wide as their cells, and wrapped where there is no room.

    Args:
        head: Titles of the columns.
        rows: Cells, as many in each row as there are titles.
        right: Columns that are set to the right edge; these are never wrapped.
        indent: Spaces in front.

    Raises:
        ValueError: a row with more or fewer cells than titles.
    """
    widths = [max(map(len, column)) for column in zip(head, *rows, strict=True)]
    while indent + sum(widths) + _GAP * (len(widths) - 1) > WIDTH:
        widest = max((c for c in range(len(widths)) if c not in right), key=lambda c: widths[c], default=None)
        if widest is None or widths[widest] <= _NARROWEST:
            break
        widths[widest] -= 1
    lines = []
    for row in (head, *rows):
        cells = [
            [cell] if column in right else textwrap.wrap(cell, widths[column], break_on_hyphens=False)
            for column, cell in enumerate(row)
        ]
        for line in range(max(1, *map(len, cells))):
            parts = [
                (cell[line] if line < len(cell) else "").rjust(width)
                if column in right
                else (cell[line] if line < len(cell) else "").ljust(width)
                for column, (cell, width) in enumerate(zip(cells, widths, strict=True))
            ]
            lines.append((" " * indent + (" " * _GAP).join(parts)).rstrip())
    return lines


def in_groups(tokens: Sequence[str]) -> str:
    """Return tokens with one space between tiles alike and two where the kind changes."""
    return "  ".join(" ".join(run) for _, run in groupby(tokens)) or "none"


def hand_lines(hand: Mapping[str, Any]) -> list[str]:
    """Return a hand's chance and name, and its tiles: all, held, missing."""
    words = hand["words"]
    kind = ", ".join(filter(None, (hand["family"], words["concealed"])))
    jokers = f"  ({words['jokers']})" if words["jokers"] else ""
    return [
        *entry(words["chance"], f"{hand['name']} ({kind})", words["facts"]),
        *labeled("tiles", in_groups(hand["target"]), 15, 9),
        *labeled("held", in_groups(hand["served_by"]) + jokers, 15, 9),
        *labeled("missing", in_groups(hand["missing"]), 15, 9),
    ]


def some_hand_lines(says: str | None) -> list[str]:
    """Return the chance of completing some hand, labeled; nothing where it is not known."""
    return [] if says is None else labeled("Some hand", says)


def assumed(assumptions: Mapping[str, Any]) -> list[str]:
    """Return what an answer rests on."""
    return ["Assumed", *(line for sentence in assumptions["words"] for line in paragraph(sentence))]


def _wrapped(text: str, first: str, rest: str) -> list[str]:
    # The space that parts groups of tiles is two wide and must survive, so words are not re-joined. A
    # figure and its percent sign stay on one line.
    lines = textwrap.wrap(
        text.replace(" %", f"{_NO_BREAK}%"),
        WIDTH,
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
        drop_whitespace=True,
    )
    return [line.replace(f"{_NO_BREAK}%", " %").rstrip() for line in lines] or [first.rstrip()]
