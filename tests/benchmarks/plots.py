"""A reliability plot as SVG: predicted against realized, with intervals, one panel a round."""

from __future__ import annotations

from collections.abc import Mapping

from solver.table.fit import Reliability

_SIZE, _GAP, _TOP, _COLUMNS = 180, 46, 40, 4
_MOST = 0.8


def _panel(name: str, found: Reliability, left: int, top: int) -> list[str]:
    def x(chance: float) -> float:
        return left + _SIZE * min(chance, _MOST) / _MOST

    def y(chance: float) -> float:
        return top + _SIZE - _SIZE * min(chance, _MOST) / _MOST

    lines = [
        f'<text x="{left}" y="{top - 8}" font-weight="bold">{name.replace("_", " ")}</text>',
        f'<rect x="{left}" y="{top}" width="{_SIZE}" height="{_SIZE}" fill="none" stroke="#888"/>',
        f'<line x1="{x(0)}" y1="{y(0)}" x2="{x(_MOST)}" y2="{y(_MOST)}" stroke="#888" '
        'stroke-dasharray="4 3"/>',
    ]
    for each in (0.0, 0.4, 0.8):
        lines += [
            f'<text x="{x(each) - 8:.1f}" y="{top + _SIZE + 14}">{each:.1f}</text>',
            f'<text x="{left - 24}" y="{y(each) + 4:.1f}">{each:.1f}</text>',
        ]
    for tenth in found.tenths:
        at = f"{x(tenth.predicted):.1f}"
        lines += [
            f'<line x1="{at}" y1="{y(tenth.low):.1f}" x2="{at}" y2="{y(tenth.high):.1f}" stroke="#1b4d6b"/>',
            f'<circle cx="{at}" cy="{y(tenth.realized):.1f}" r="3" fill="#1b4d6b"/>',
        ]
    return lines


def reliability_plot(found: Mapping[str, Reliability]) -> str:
    """Return an SVG: across, the predicted chance; up, the share that came true with its 95 % interval."""
    rows = -(-len(found) // _COLUMNS)
    width, height = _COLUMNS * (_SIZE + _GAP) + _GAP, rows * (_SIZE + _GAP + 18) + _TOP
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" font-family="sans-serif" '
        'font-size="11" role="img">',
        "<title>Predicted chance of some hand (across) against the share that completed one (up)</title>",
        f'<rect width="{width}" height="{height}" fill="#fff"/>',
    ]
    for index, (name, each) in enumerate(found.items()):
        row, column = divmod(index, _COLUMNS)
        lines += _panel(name, each, _GAP + column * (_SIZE + _GAP), _TOP + row * (_SIZE + _GAP + 18))
    return "\n".join([*lines, "</svg>", ""])
