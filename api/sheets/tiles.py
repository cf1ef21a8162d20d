"""Tiles as they are drawn everywhere, in print and on the web page, by one table of shapes: ``tiles.svg``."""

from __future__ import annotations

import re
from functools import cache

from jinja2 import Environment, PackageLoader
from markupsafe import Markup

from patterns.tiles import KINDS, Tile

WIDTH, HEIGHT, MARGIN = 60, 80, 5
_SYMBOL = re.compile(r'<symbol id="(\w+)"[^>]*>(.*)</symbol>')


def svg(tile: Tile) -> Markup:
    """Return the drawing of a kind for print: one SVG element, 60 to 80, with its name for screen readers."""
    drawn = _printed()[tile.value]
    return Markup(
        f'<svg class="tile" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{tile.word}">{drawn}</svg>'
    )


@cache
def sprite() -> bytes:
    """Return the same drawings for pages, as one SVG file of symbols.

    A kind's id is its token. Besides, ``back`` is a tile face down, and ``stands`` the mark of a joker that
    stands for the tile on which it is put.
    """
    loader = PackageLoader("api.sheets")
    environment = Environment(loader=loader, autoescape=True, trim_blocks=True, lstrip_blocks=True)
    return f"{environment.get_template('tiles.svg').render(kinds=KINDS).strip()}\n".encode()


@cache
def _printed() -> dict[str, str]:
    """Return each drawing by its name, in black on white: what a page may set has its usual value."""
    plain = re.sub(r"var\([^,]+, ([^)]+)\)", r"\1", sprite().decode()).replace("currentColor", "#111")
    return dict(_SYMBOL.findall(plain))
