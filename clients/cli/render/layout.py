"""A page of plain text: headings, labelled lines, and entries with a figure in front."""

from __future__ import annotations

import textwrap

WIDTH = 80
_LABEL = 18
_NO_BREAK = "\u00a0"


def labelled(label: str, text: str, indent: int = 2, column: int = _LABEL) -> list[str]:
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
