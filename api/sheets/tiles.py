"""Tiles drawn for print: black on white, the suit told by its shape and by its word, never by colour."""

from __future__ import annotations

from functools import cache
from math import cos, pi, sin

from markupsafe import Markup

from patterns.tiles import DRAGONS, WINDS, Suit, Tile

WIDTH, HEIGHT = 60, 80
_INK, _PAPER = "#111", "#fff"
_FRAME = (
    f'<rect x="1.5" y="1.5" width="57" height="77" rx="8" fill="{_PAPER}" stroke="{_INK}" stroke-width="2"/>'
)
# Each to the right of the rank: a jointed stalk, a crack, a ring.
_SHAPES = {
    Suit.BAM: (
        f'<rect x="38.5" y="9" width="9" height="38" rx="3" fill="{_INK}"/>'
        f'<path d="M37 21.5h12M37 34.5h12" stroke="{_PAPER}" stroke-width="2.5"/>'
        f'<path d="M47 15q7-1 8-7q-7 0-8 7z" fill="{_INK}"/>'
    ),
    Suit.CRAK: (
        f'<path d="M47 9L37.5 24L49.5 29L39 46" fill="none" stroke="{_INK}" stroke-width="4.5"'
        ' stroke-linejoin="miter"/>'
    ),
    Suit.DOT: (
        f'<circle cx="43.5" cy="28" r="9.5" fill="none" stroke="{_INK}" stroke-width="4"/>'
        f'<circle cx="43.5" cy="28" r="3" fill="{_INK}"/>'
    ),
}
_TURNS = {"north": 0, "east": 90, "south": 180, "west": 270}
_SERPENT = "M14 46C6 31 22 26 30 33S48 34 38 18"
_HEAD = "M30 18C31 10 36 8 40 9L38 3.5L45 9C50 10 54 14 55 19L48 19.5L52 23L45 25C39 26 32 25 30 18z"
_SCALES = {
    Tile.RED: "",
    Tile.WHITE: f'<path d="{_SERPENT}" fill="none" stroke="{_PAPER}" stroke-width="5"/>',
    Tile.GREEN: (
        f'<path d="{_SERPENT}" fill="none" stroke="{_PAPER}" stroke-width="5" stroke-dasharray="3.5 3"/>'
    ),
}


def svg(tile: Tile) -> Markup:
    """Return the drawing of a kind as one SVG element, 60 to 80, with its name for screen readers."""
    return Markup(
        f'<svg class="tile" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{tile.word}">'
        f"{_FRAME}{_face(tile)}</svg>"
    )


@cache
def _face(tile: Tile) -> str:
    suit = tile.suit
    if suit is not None:
        return _letter(str(tile.rank)) + _SHAPES[suit] + _word(suit.name.lower())
    name = tile.name.lower()
    if tile in WINDS:
        return _letter(tile.value) + _compass(_TURNS[name]) + _word(name)
    if tile in DRAGONS:
        return _dragon(tile) + _word(name)
    return (_flower() if tile is Tile.FLOWER else _star()) + _word(name)


def _letter(letter: str) -> str:
    return _text(letter, 18, 41, 37 if letter.isdigit() else 26, bold=True)


def _word(word: str) -> str:
    return _text(word, 30, 69, 15.5, bold=False)


def _text(text: str, x: int, y: int, size: float, *, bold: bool) -> str:
    weight = "bold" if bold else "normal"
    return (
        f'<text x="{x}" y="{y}" font-size="{size}" font-weight="{weight}" text-anchor="middle"'
        f' fill="{_INK}">{text}</text>'
    )


def _compass(turn: int) -> str:
    return (
        f'<circle cx="44" cy="28" r="10.5" fill="none" stroke="{_INK}" stroke-width="1.5"/>'
        f'<path d="M44 15l6 18-6-4-6 4z" fill="{_INK}" transform="rotate({turn} 44 28)"/>'
    )


def _dragon(tile: Tile) -> str:
    return (
        f'<path d="{_SERPENT}" fill="none" stroke="{_INK}" stroke-width="8"/>{_SCALES[tile]}'
        f'<path d="{_HEAD}" fill="{_INK}"/><circle cx="43" cy="14" r="1.7" fill="{_PAPER}"/>'
    )


def _flower() -> str:
    petals = "".join(
        f'<ellipse cx="30" cy="17.5" rx="6.5" ry="8.5" transform="rotate({turn} 30 29)"/>'
        for turn in range(0, 360, 72)
    )
    return (
        f'<g fill="{_PAPER}" stroke="{_INK}" stroke-width="2">{petals}</g>'
        f'<circle cx="30" cy="29" r="5" fill="{_INK}"/>'
    )


def _star() -> str:
    points = " ".join(
        f"{30 + radius * sin(turn * pi / 5):.2f},{29 - radius * cos(turn * pi / 5):.2f}"
        for turn, radius in enumerate((21, 9) * 5)
    )
    return f'<polygon points="{points}" fill="{_INK}"/>'
