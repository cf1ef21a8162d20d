"""The one set of tiles: drawn alike on the page and in print, each its own, nothing at the rim."""

import io
import re
import subprocess
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from api.sheets.tiles import HEIGHT, WIDTH, svg
from patterns.tiles import KINDS, Tile
from tests.clients.web.conftest import Visit

# Pixels a unit of the drawings when they are measured.
SCALE = 4
# No sign comes nearer to the edge of its tile.
MARGIN = 5
# Units from the edge to where the frame has ended, along a side and around a corner.
FRAME, CORNER = 4, 8
Picture = NDArray[np.float64]


def picture(image: bytes) -> Picture:
    """Return a picture as ink, from 0 (paper) to 1 (black)."""
    gray: Picture = 1 - np.asarray(Image.open(io.BytesIO(image)).convert("L"), dtype=float) / 255
    return gray


# Shows symbols of the drawings side by side, as they are without any style.
SHOW = """async ([address, names, wide, high, font]) => {
  const parts = document.createElement('div');
  const text = await (await fetch(address)).text();
  parts.innerHTML = font ? text.replaceAll(/font-family="[^"]*"/g, `font-family="${font}"`) : '';
  parts.style.cssText = 'position: absolute; width: 0; height: 0; overflow: hidden';
  for (const sheet of document.querySelectorAll('link[rel=stylesheet]')) sheet.remove();
  document.body.style.cssText = 'margin: 0; display: flex; background: #fff; color: #000';
  document.body.replaceChildren(parts, ...names.map((name) => {
    const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
    svg.style.cssText = `display: block; width: ${wide}px; height: ${high}px`;
    svg.innerHTML = `<use href="${font ? '' : address}#${name}"/>`;
    return svg;
  }));
  await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
}"""


@pytest.fixture
def drawn(visit: Visit) -> Callable[..., dict[Tile, Picture]]:
    """Return each kind as the browser draws it, so many pixels wide, from the file that the page uses."""

    def draw(wide: int, font: str | None = None) -> dict[Tile, Picture]:
        high = wide * HEIGHT // WIDTH
        page = visit.go()
        page.set_viewport_size({"width": wide * len(KINDS), "height": high})
        page.evaluate(SHOW, ["/tiles.svg", [tile.value for tile in KINDS], wide, high, font])
        whole = picture(page.screenshot())
        return {tile: whole[:, at * wide : (at + 1) * wide] for at, tile in enumerate(KINDS)}

    return draw


@pytest.mark.parametrize("font", [None, "DejaVu Sans", "DejaVu Serif"])
def test_nothing_but_the_frame_is_near_the_rim(drawn: Callable[..., dict[Tile, Picture]], font: str) -> None:
    for tile, ink in drawn(WIDTH * SCALE, font).items():
        assert ink.max() > 0.9
        # Between the frame and the margin, but for the frame's round corners, there is only paper.
        for side in (ink, ink.T):
            for strip in (side[FRAME * SCALE : MARGIN * SCALE], side[-MARGIN * SCALE : -FRAME * SCALE]):
                assert strip[:, CORNER * SCALE : -CORNER * SCALE].max() < 0.02, (tile, font)


def test_each_kind_can_be_told_at_28_pixels_in_black_and_white(
    drawn: Callable[..., dict[Tile, Picture]],
) -> None:
    small = {tile: ink > 0.5 for tile, ink in drawn(28).items()}
    for at, one in enumerate(KINDS):
        for other in KINDS[at + 1 :]:
            assert np.sum(small[one] ^ small[other]) >= 20, (one, other)
    # The shape alone tells the suit: without rank and word, ranks are alike and suits are not.
    shapes = {tile: ink[3:22, 14:26] for tile, ink in small.items() if tile.suit is not None}
    for one, shape in shapes.items():
        for other, its in shapes.items():
            differ = np.sum(shape ^ its)
            assert differ == 0 if one.suit is other.suit else differ >= 60, (one, other)


def test_the_white_dragon_keeps_its_frame(drawn: Callable[..., dict[Tile, Picture]]) -> None:
    ink = drawn(WIDTH * SCALE)[Tile.WHITE] > 0.5
    middle = ink[29 * SCALE, FRAME * SCALE : -FRAME * SCALE]
    changes = np.count_nonzero(middle[1:] != middle[:-1])
    assert changes == 8  # two frames, each crossed twice
    assert not ink[27 * SCALE : 31 * SCALE, 26 * SCALE : 34 * SCALE].any()


@pytest.mark.parametrize("tile", KINDS, ids=lambda tile: tile.word)
def test_print_is_black_and_white_and_says_in_text_what_it_shows(tile: Tile) -> None:
    printed = svg(tile)
    root = ElementTree.fromstring(printed)
    assert (root.get("role"), root.get("aria-label")) == ("img", tile.word)
    assert set(re.findall(r"#[0-9a-f]{3,6}|currentColor|var", printed)) == {"#111", "#fff"}
    written = [element.text for element in root.iter("text")]
    letter = [str(tile.rank)] if tile.suit else [tile.value] if tile.value in "NEWS" else []
    assert written == [*letter, (tile.suit or tile).name.lower()]


def test_the_page_and_the_pdf_show_the_same_tiles(
    drawn: Callable[..., dict[Tile, Picture]], tmp_path: Path
) -> None:
    weasyprint = pytest.importorskip("weasyprint")
    wide = 120
    tiles = "".join(
        str(svg(tile)).replace("<svg ", '<svg style="width:60px;height:80px;display:block" ', 1)
        for tile in KINDS
    )
    page = "@page { size: 60px 80px; margin: 0 } body { margin: 0 }"
    weasyprint.HTML(string=f"<style>{page}</style>{tiles}").write_pdf(tmp_path / "tiles.pdf")
    command = ["pdftoppm", "-png", "-scale-to-x", str(wide), "-scale-to-y", "-1", "tiles.pdf", "tile"]
    subprocess.run(command, cwd=tmp_path, check=True)
    shown = drawn(wide)
    for tile, file in zip(KINDS, sorted(tmp_path.glob("tile-*.png")), strict=True):
        printed = picture(file.read_bytes())
        differences = {each: np.abs(printed - shown[each]).mean() for each in KINDS}
        # Edges are smoothed otherwise, and fonts hinted: more than nothing, but less than to any other kind.
        assert min(differences, key=differences.__getitem__) is tile
        assert differences[tile] < 0.04, tile
