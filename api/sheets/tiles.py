"""Tiles as they are drawn everywhere, in print and on the web page, by one table of shapes: ``tiles.svg``."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterable
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader
from markupsafe import Markup

from patterns.tiles import KINDS, Tile

WIDTH, HEIGHT = 60, 80
_STEP, _PALE = 62, "#aaa"
_SYMBOL = re.compile(
    r'<symbol id="(\w+)"[^>]*>(<rect[^>]*>)<g display="inline">(.*)</g><g display="none"( .*</g>)</symbol>'
)


def environment(**more: Any) -> Environment:
    """Return what fills in the templates of this folder."""
    loader = PackageLoader("api.sheets")
    return Environment(loader=loader, autoescape=True, trim_blocks=True, lstrip_blocks=True, **more)


def svg(tile: Tile) -> Markup:
    """Return the drawing of a kind for print: one SVG element, 60 to 80, with its name for screen readers."""
    rect, worded, _ = _printed()[tile.value]
    box = f'viewBox="0 0 {WIDTH} {HEIGHT}"'
    return Markup(f'<svg class="tile" {box} role="img" aria-label="{tile.word}">{rect}{worded}</svg>')


def row(tiles: Iterable[tuple[Tile, bool]], name: str) -> Markup:
    """Return small tiles side by side as one image with a name; each is held, or else pale.

    An image, as elements of the page would each be styled: a PDF would take three times as long.
    """
    drawn = []
    for at, (tile, held) in enumerate(tiles):
        rect, _, bare = _printed()[tile.value]
        group = f'<g transform="translate({_STEP * at} 0)">{rect}<g{bare}</g>'
        drawn.append(group if held else group.replace("#111", _PALE))
    box = f'xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_STEP * len(drawn)} {HEIGHT}"'
    image = b64encode(f"<svg {box}>{''.join(drawn)}</svg>".encode()).decode()
    return Markup(f'<img class="hand" alt="{name}" src="data:image/svg+xml;base64,{image}">')


@cache
def sprite() -> bytes:
    """Return the same drawings for pages, as one SVG file of symbols.

    A kind's id is its token. Besides, ``back`` is a tile face down, and ``stands`` the mark of a joker that
    stands for the tile on which it is put.
    """
    return f"{environment().get_template('tiles.svg').render(kinds=KINDS).strip()}\n".encode()


@cache
def _printed() -> dict[str, tuple[str, str, str]]:
    """Return frame, face with word, and face without, in black on white: what a page may set is as usual."""
    plain = re.sub(r"var\([^,]+, ([^)]+)\)", r"\1", sprite().decode()).replace("currentColor", "#111")
    return {name: (rect, worded, bare) for name, rect, worded, bare in _SYMBOL.findall(plain)}
