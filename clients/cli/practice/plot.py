"""The plot of progress: two panels in one SVG, told apart by mark and dash, not by colour."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from xml.sax.saxutils import escape

from clients.cli.practice.ticks import hand_ticks, index_ticks, time_ticks
from clients.cli.practice.trend import Means
from clients.cli.render.words import counted, hands
from clients.cli.times import clock

_WIDE, _HIGH = 720, 520
_LEFT, _RIGHT = 80, 700
_PANELS = ((50, 230), (300, 480))
_MARK = 4


@dataclass(frozen=True)
class _Series:
    """One panel: its values by row, how they are written, and how they are drawn."""

    name: str
    label: str
    values: tuple[float | None, ...]
    ticks: list[float]
    written: Callable[[float], str]
    mark: Callable[[float, float], str]
    dash: str


def plot_of(rows: Sequence[Means], by: str) -> str:
    """Return an SVG document of one or more rows.

    Args:
        rows: Lap by lap or day by day, in the order of time.
        by: ``lap`` or ``day``, for the labels.
    """
    times = tuple(row.seconds for row in rows)
    lost = tuple(row.given_up for row in rows)
    mean_of = "Mean time" if by == "day" else "Time"
    series = (
        _Series("time", f"{mean_of} (min:s)", times, time_ticks(_most(times)), clock, _circle, ""),
        _Series("given-up", "Given up (hands)", lost, hand_ticks(_most(lost)), hands, _square, "6 4"),
    )
    body = [_panel(each, rows, by, *edges) for each, edges in zip(series, _PANELS, strict=True)]
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE} {_HIGH}" width="{_WIDE}" '
            f'height="{_HIGH}" role="img" aria-labelledby="title desc" font-family="sans-serif" '
            'font-size="12" fill="black">',
            '<title id="title">Practice of the Charleston: time and expected hands given up</title>',
            f'<desc id="desc">{escape(_described(rows, by))}</desc>',
            f'<rect width="{_WIDE}" height="{_HIGH}" fill="white"/>',
            *body,
            "</svg>\n",
        ]
    )


def write_whole(path: Path, text: str) -> None:
    """Write a file so that it is there whole or, if it cannot be, as it was before.

    Raises:
        OSError, ValueError: it cannot be written.
    """
    number, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with open(number, "w", encoding="utf-8", newline="\n") as file:  # noqa: PTH123 - an open descriptor
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(0o666 & ~_umask())
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _described(rows: Sequence[Means], by: str) -> str:
    said = []
    for name, values, written in (
        ("Time", [row.seconds for row in rows], clock),
        ("Expected hands given up", [row.given_up for row in rows], hands),
    ):
        there = [value for value in values if value is not None]
        if there:
            span = f"first {written(there[0])}, last {written(there[-1])}"
            said.append(f"{name}: {span}, least {written(min(there))}, most {written(max(there))}.")
    dates = f"{counted(len(rows), by)}, from {rows[0].date} to {rows[-1].date}."
    return " ".join([f"Two panels, one above the other. {dates}", *said])


def _panel(series: _Series, rows: Sequence[Means], by: str, top: int, bottom: int) -> str:
    def x_of(index: float) -> float:
        return (_LEFT + _RIGHT) / 2 if len(rows) == 1 else _at(_LEFT + 20, _RIGHT - 20, index, len(rows) - 1)

    def y_of(value: float) -> float:
        return _at(bottom, top, value, series.ticks[-1])

    points = [
        (x_of(index), y_of(value), row, value)
        for index, (row, value) in enumerate(zip(rows, series.values, strict=True))
        if value is not None
    ]
    parts = [f'<g class="{series.name}">', _text(_LEFT, top - 12, series.label, "start")]
    parts.append(_line(_LEFT, top, _LEFT, bottom))
    parts.append(_line(_LEFT, bottom, _RIGHT, bottom))
    for tick in series.ticks:
        parts.append(_line(_LEFT - 4, y_of(tick), _LEFT, y_of(tick)))
        parts.append(_text(_LEFT - 8, y_of(tick) + 4, series.written(tick), "end"))
    for index in index_ticks(len(rows)):
        parts.append(_line(x_of(index), bottom, x_of(index), bottom + 4))
        parts.append(_text(x_of(index), bottom + 18, str(index + 1), "middle"))
    parts.append(_text((_LEFT + _RIGHT) / 2, bottom + 34, f"{by} (1 is the first)", "middle"))
    if len(points) > 1:
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y, _, _ in points)
        dash = f' stroke-dasharray="{series.dash}"' if series.dash else ""
        parts.append(f'<polyline points="{path}" fill="none" stroke="black"{dash}/>')
    for x, y, row, value in points:
        told = escape(f"{row.date}: {series.written(value)}")
        parts.append(f'<g class="mark"><title>{told}</title>{series.mark(x, y)}</g>')
    return "\n".join([*parts, "</g>"])


def _at(low: float, high: float, value: float, most: float) -> float:
    return low + (high - low) * value / most


def _most(values: Sequence[float | None]) -> float:
    return max((value for value in values if value is not None), default=0.0)


def _circle(x: float, y: float) -> str:
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{_MARK}"/>'


def _square(x: float, y: float) -> str:
    place = f'x="{x - _MARK:.1f}" y="{y - _MARK:.1f}" width="{2 * _MARK}" height="{2 * _MARK}"'
    return f'<rect {place} fill="white" stroke="black" stroke-width="1.5"/>'


def _line(x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="black"/>'


def _text(x: float, y: float, text: str, anchor: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(text)}</text>'
