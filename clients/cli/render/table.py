"""Tables: columns as wide as their cells, wrapped where a page has no room."""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Sequence

from clients.cli.render.layout import WIDTH

_GAP = 2
_NARROWEST = 8


def table(
    head: Sequence[str], rows: Sequence[Sequence[str]], right: Collection[int] = (), indent: int = 2
) -> list[str]:
    """Return the lines of a table.

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
