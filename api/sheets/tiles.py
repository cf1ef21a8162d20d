"""Tiles as they are drawn everywhere: one table of shapes for the pages that print and for the web page.

Black and white suffice: a suit is told by its shape and by its word, never by color. Nothing but the frame
comes nearer than `MARGIN` to the edge, and every text is given its width, so that it fits whatever the font.
"""

from __future__ import annotations

import re
from functools import cache
from math import cos, pi, sin

from markupsafe import Markup

from patterns.tiles import DRAGONS, KINDS, WINDS, Suit, Tile

WIDTH, HEIGHT, MARGIN = 60, 80, 5

# A page may set these by its style, the ink by `color`; in print they are black and white.
_INK, _PAPER = "currentColor", "var(--tile-front, #fff)"
_PRINTED_INK = "#111"
_EDGE = 'x="2" y="2" width="56" height="76" rx="8" stroke="var(--tile-line, #111)"'
_FRAME = (
    f'<rect {_EDGE} fill="{_PAPER}" stroke-width="var(--tile-thick, 2)"'
    ' stroke-dasharray="var(--tile-dash, none)"/>'
)
_FONT = "Liberation Sans, Arial, Helvetica, sans-serif"
# How wide each letter and word is drawn: nearly its own width in the first font.
_RANK_WIDTH = 21
_WIDTHS = {"N": 20, "E": 18, "W": 25, "S": 18, "bam": 34, "crak": 34, "dot": 26, "red": 26, "joker": 38}
_WIDTHS |= {"north": 41, "east": 33, "west": 36, "south": 43, "green": 43, "white": 40, "flower": 46}

# Right of the rank, around (42, 27): a stalk of three pieces, a plate cracked in two, a ring around a point.
_SUITS = {
    Suit.BAM: (
        f'<path fill="{_INK}" d="M36.5 8h11q-2 5.5 0 11h-11q2-5.5 0-11zM36.5 21.5h11q-2 5.5 0 11h-11'
        'q2-5.5 0-11zM36.5 35h11q-2 5.5 0 11h-11q2-5.5 0-11z"/>'
    ),
    Suit.CRAK: (
        f'<path fill="{_INK}" d="M32 9.5H40L36.5 22L42 31L38.5 44.5H32zM45 9.5H52V44.5H43.5L47 31L41.5 22z"/>'
    ),
    Suit.DOT: (
        f'<circle cx="42" cy="27" r="9" fill="none" stroke="{_INK}" stroke-width="4.5"/>'
        f'<circle cx="42" cy="27" r="3.2" fill="{_INK}"/>'
    ),
}
# The way a wind's arrow points, in degrees from north.
_TURNS = {Tile.NORTH: 0, Tile.EAST: 90, Tile.SOUTH: 180, Tile.WEST: 270}
_ARROW = "M43 15.500L54 28H47V38.500H39V28H32z"
_DRAGONS = {
    # A leaf with its rib, a flame, an empty frame.
    Tile.GREEN: (
        f'<path fill="{_INK}" d="M12 46C8 22 22 9 49 9C50 34 38 50 16 47z"/>'
        f'<path fill="none" stroke="{_PAPER}" stroke-width="3.5" d="M11 52C18 36 27 28 40 19"/>'
    ),
    Tile.RED: (
        f'<path fill="{_INK}" d="M31 7C34 18 47 23 47 36C47 46 40 51 30 51'
        'C20 51 13 46 13 36C13 28 17 25 20 19C22 24 23 26 26 27C30 21 27 14 31 7z"/>'
        f'<path fill="{_PAPER}" d="M30 47C24 44 25 39 30 33C35 39 36 44 30 47z"/>'
    ),
    Tile.WHITE: (
        f'<rect x="13.5" y="9.5" width="33" height="40" rx="4" fill="none" stroke="{_INK}" stroke-width="5"/>'
        f'<rect x="21" y="17" width="18" height="25" rx="1.5" fill="none" stroke="{_INK}" stroke-width="2"/>'
    ),
}
_BACK = (
    f'<rect {_EDGE} fill="#2f6b60" stroke-width="2"/>'
    '<path fill="none" stroke="#cfe3d9" stroke-width="2" d="M14 16H46V64H14zM14 32H46M14 48H46M30 16V64"/>'
)


def svg(tile: Tile) -> Markup:
    """Return the drawing of a kind for print: one SVG element, 60 to 80, with its name for screen readers."""
    drawn = re.sub(r"var\([^,]+, ([^)]+)\)", r"\1", _FRAME + _face(tile)).replace(_INK, "#111")
    return Markup(
        f'<svg class="tile" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{tile.word}">{drawn}</svg>'
    )


@cache
def sprite() -> bytes:
    """Return the same drawings for pages, as one SVG file of symbols.

    A kind's id is its token. Besides, ``back`` is a tile face down, and ``stands`` the mark of a joker that
    stands for the tile on which it is put.
    """
    drawings = {tile.value: _FRAME + _face(tile) for tile in KINDS}
    drawings |= {"back": _BACK, "stands": _mark()}
    symbols = "\n".join(
        f'<symbol id="{name}" viewBox="0 0 {WIDTH} {HEIGHT}">{drawn}</symbol>'
        for name, drawn in drawings.items()
    )
    return f'<svg xmlns="http://www.w3.org/2000/svg">\n{symbols}\n</svg>\n'.encode()


@cache
def _face(tile: Tile) -> str:
    if tile.suit is not None:
        word = tile.suit.name.lower()
        shape = _text(str(tile.rank), 17, 41, 38, _RANK_WIDTH) + _SUITS[tile.suit]
    else:
        word = tile.name.lower()
        if tile in WINDS:
            turned = f'<path fill="{_INK}" d="{_ARROW}" transform="rotate({_TURNS[tile]} 42.5 27)"/>'
            shape = _text(tile.value, 18, 37, 28, _WIDTHS[tile.value]) + turned
        elif tile in DRAGONS:
            shape = _DRAGONS[tile]
        else:
            shape = _flower() if tile is Tile.FLOWER else _star()
    return shape + _text(word, 30, 69, 16, _WIDTHS[word])


def _text(text: str, x: int, y: int, size: int, width: int) -> str:
    return (
        f'<text x="{x}" y="{y}" font-family="{_FONT}" font-size="{size}" font-weight="700"'
        f' text-anchor="middle" textLength="{width}" lengthAdjust="spacingAndGlyphs"'
        f' fill="{_INK}">{text}</text>'
    )


def _mark() -> str:
    star = f'<g transform="translate(49 11) scale(0.34) translate(-30 -29)" color="#fff">{_star()}</g>'
    return f'<circle cx="49" cy="11" r="10" fill="{_INK}" stroke="{_PAPER}" stroke-width="1.5"/>{star}'


def _flower() -> str:
    petals = "".join(
        f'<ellipse cx="30" cy="17" rx="6.8" ry="8.5" transform="rotate({turn} 30 29.5)"/>'
        for turn in range(0, 360, 72)
    )
    return f'<g fill="{_INK}">{petals}</g><circle cx="30" cy="29.5" r="5.5" fill="{_PAPER}"/>'


def _star() -> str:
    points = " ".join(
        f"{30 + radius * sin(turn * pi / 8):.2f},{29 - radius * cos(turn * pi / 8):.2f}"
        for turn, radius in enumerate((22, 10) * 8)
    )
    return f'<polygon points="{points}" fill="{_INK}"/>'
