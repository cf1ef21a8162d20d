"""A rack drawn as tiles: two words on each, in box characters or in ASCII, never by colour."""

from __future__ import annotations

from collections.abc import Sequence

from clients.cli.render.words import tile_words

_ROW = 7
_WIDE = 6
_BOX = ("╭", "─", "╮", "│", "╰", "╯")
_ASCII = (".", "-", ".", "|", "'", "'")


def can_box(encoding: str | None) -> bool:
    """Return whether an encoding carries the box characters."""
    try:
        "".join(_BOX).encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def drawn(tokens: Sequence[str], box: bool) -> list[str]:
    """Return lines that show tiles in rows of seven.

    Args:
        tokens: The tiles, in the order to show them.
        box: Draw with box characters; ASCII otherwise.
    """
    left, flat, right, side, low_left, low_right = _BOX if box else _ASCII
    lines = []
    for start in range(0, len(tokens), _ROW):
        faces = [_face(token) for token in tokens[start : start + _ROW]]
        lines += [
            " ".join(left + flat * _WIDE + right for _ in faces),
            *(" ".join(f"{side}{face[row]:^{_WIDE}}{side}" for face in faces) for row in (0, 1)),
            " ".join(low_left + flat * _WIDE + low_right for _ in faces),
        ]
    return [line.rstrip() for line in lines]


def _face(token: str) -> tuple[str, str]:
    upper, _, lower = tile_words(token).partition(" ")
    return (upper, lower) if lower else (token, upper)
