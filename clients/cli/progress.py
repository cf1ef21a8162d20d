"""``threepass progress``: how practice goes, from the log alone, as a table and as a plot."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from pathlib import Path
from typing import Any

import click

from api.service import ROUNDS, Figures, clock, counted, fine, percent
from clients.cli.output import (
    NotWrittenError,
    UsageFault,
    complain,
    labeled,
    page,
    paragraph,
    said_by,
    say,
    table,
    write_whole,
)
from clients.cli.practice import LOG_VERSION, default_log
from clients.cli.review import LOG_MARK

FEWEST = 4
# No lap lasts more than a day, loses more rack strength or ends farther away; and logs have years.
_MOST_SECONDS, _MOST_STRENGTH, _MOST_AWAY = 86_400, 1e6, 14
_YEARS = range(2000, 2200)
_HEAD = ("Date", "Laps", "Time", "Lost", "As good", "Tiles away")


@click.command(short_help="How practice goes, as a table and a plot.")
@click.option("--log", metavar="FILE", help="Read this log, not the one in your data folder.")
@click.option("--plot", metavar="FILE.svg", help="Draw the time and what was lost into this file.")
@click.option(
    "--by",
    type=click.Choice(["lap", "day"]),
    default="lap",
    show_default=True,
    help="One row a lap (one Charleston, played through) or one a day.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the figures in JSON.")
def progress(log: str | None, plot: str | None, by: str, as_json: bool) -> None:
    """Show how practice goes: time, rack strength lost, passes as good as the best, tiles away.

    No server is needed. Lines of the log that are torn or not of threepass are named on stderr and left
    out. Exit codes: 0 shown, 2 wrong usage or a log that cannot be read, 5 the plot could not be written.
    """
    path = default_log() if log is None else Path(log)
    skipped: list[str] = []
    try:
        # Before the first lap the log of one's own is not there yet; one that was named should be.
        found = read_log(path, skipped) if log is not None or path.exists() else []
    except (OSError, ValueError) as error:
        raise UsageFault([f"{path}: {said_by(error)}"]) from None
    for line in skipped:
        complain(line)
    laps = [lap for lap in found if lap.finished]
    left = len(found) - len(laps)
    rows = rows_of(laps, by == "day")
    if as_json:
        say(json.dumps(in_json(rows, halves_of(laps), left, len(skipped))))
    else:
        say(progress_text(rows, laps, left) if laps else f"no finished laps in {path}")
    if plot is not None:
        if not rows:
            raise UsageFault(["--plot: no finished laps to draw"])
        try:
            write_whole(Path(plot), plot_of(rows, by).encode())
        except (OSError, ValueError) as error:
            raise NotWrittenError([f"--plot: {plot}: {said_by(error)}"]) from None


@dataclass(frozen=True)
class LoggedLap:
    """A lap as the log has it.

    Attributes:
        at: When it began, in the time zone of this machine.
        figures: What it adds to an average.
    """

    at: datetime
    card: str
    finished: bool
    figures: Figures


def read_log(path: Path, skipped: list[str]) -> list[LoggedLap]:
    """Return the laps of a log in the order in which they began.

    Args:
        path: The log.
        skipped: Gets a line for each that is torn or foreign and therefore left out, and why.

    Raises:
        OSError, ValueError: the file cannot be read.
    """
    laps = []
    with path.open("rb") as file:
        for number, line in enumerate(file, 1):
            if not line.strip():
                continue
            try:
                laps.append(lap_of(line))
            except ValueError as error:
                skipped.append(f"line {number} of the log left out: {error}")
    return sorted(laps, key=lambda lap: lap.at)


def lap_of(line: bytes) -> LoggedLap:
    """Return the lap on a line.

    Raises:
        ValueError: it is none, and why.
    """
    try:
        entry = json.loads(line)
    except (ValueError, RecursionError):
        raise ValueError("not whole JSON (torn?)") from None
    if not isinstance(entry, dict) or LOG_MARK not in entry:
        raise ValueError("not a lap of this log")
    if entry[LOG_MARK] != LOG_VERSION:
        raise ValueError(f"written for version {entry[LOG_MARK]!r:.20} of this log")
    try:
        return _lap(entry)
    except (LookupError, TypeError, ValueError, AttributeError, OverflowError, OSError) as error:
        raise ValueError(f"not a lap of this log ({error!s:.60})") from None


def _lap(entry: Mapping[str, Any]) -> LoggedLap:
    exchanges, result = entry["record"]["exchanges"], entry["result"]
    right = isinstance(exchanges, list) and isinstance(entry["finished"], bool)
    right = right and len(exchanges) <= len(ROUNDS)
    if not right or not (result is None or isinstance(result, dict)):
        raise TypeError("a part of another kind")
    times = [_number(exchange["seconds"], _MOST_SECONDS) for exchange in exchanges]
    timed = [seconds for seconds in times if seconds is not None]
    graded: Mapping[str, Any] = result or {}
    figures = Figures(
        passes=len(exchanges),
        seconds=math.fsum(timed) if timed and len(timed) == len(times) else None,
        # Older laps have `given_up` alone, which was of another objective: they count as not graded.
        given_up=_number(graded.get("strength_given_up"), _MOST_STRENGTH),
        best=None,
        within_resolution=_number(graded.get("share_within_resolution"), 1),
        tiles_away=_number(graded.get("tiles_away"), _MOST_AWAY),
    )
    at = datetime.fromisoformat(entry["at"]).astimezone()
    if at.year not in _YEARS:
        raise ValueError("a year out of range")
    return LoggedLap(at, str(entry["card"]), entry["finished"], figures)


def _number(value: object, most: float) -> float | None:
    """Return a number of 0 or more, or None for none."""
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError("a number is not one")
    if not 0 <= float(value) <= most:
        raise ValueError("a number out of range")
    return float(value)


Row = tuple[str, Figures]


def rows_of(laps: Sequence[LoggedLap], by_day: bool) -> list[Row]:
    """Return the date and the means of each lap, or of each day; laps are in the order of time."""
    if not by_day:
        return [(lap.at.strftime("%Y-%m-%d %H:%M"), _means([lap])) for lap in laps]
    days = groupby(laps, key=lambda lap: lap.at.strftime("%Y-%m-%d"))
    return [(day, _means(of_day)) for day, of_day in days]


def halves_of(laps: Sequence[LoggedLap]) -> tuple[Figures, Figures] | None:
    """Return the first half of the laps and the second, without the middle one; None of fewer than four."""
    half = len(laps) // 2
    return None if len(laps) < FEWEST else (_means(laps[:half]), _means(laps[-half:]))


def _means(laps: Iterable[LoggedLap]) -> Figures:
    return Figures.average([lap.figures for lap in laps])


def in_json(
    rows: Sequence[Row], halves: tuple[Figures, Figures] | None, unfinished: int, skipped: int
) -> dict[str, Any]:
    """Return what there is to tell, for programs; seconds, rack strength, shares 0 to 1 and tiles."""

    def told(date: str, means: Figures) -> dict[str, Any]:
        return {
            "date": date,
            "laps": means.laps,
            "seconds": means.seconds,
            "given_up": means.given_up,
            "share": means.within_resolution,
            "away": means.tiles_away,
        }

    trend = None if halves is None else dict(zip(("first", "second"), halves, strict=True))
    return {
        "rows": [told(date, means) for date, means in rows],
        "trend": None if trend is None else {name: told(f"{name} half", m) for name, m in trend.items()},
        "unfinished": unfinished,
        "skipped_lines": skipped,
    }


def progress_text(rows: Sequence[Row], laps: Sequence[LoggedLap], left: int) -> str:
    """Return the page.

    Args:
        rows: Lap by lap or day by day.
        laps: The finished laps.
        left: How many laps were stopped before their end.
    """
    cells = [(date, f"{means.laps:,}", *(_cell(means, figure) for figure in FIGURES)) for date, means in rows]
    return page(
        [table(_HEAD, cells, right=range(1, len(_HEAD))), _trend(halves_of(laps)), _notes(laps, left)]
    )


@dataclass(frozen=True)
class _Figure:
    """One figure of a lap: its name, how it is read and written, and what less and more of it is called."""

    name: str
    of: Callable[[Figures], float | None]
    written: Callable[[float], str]
    less: str
    more: str


FIGURES = (
    _Figure("Time", lambda means: means.seconds, clock, "faster", "slower"),
    _Figure("Lost", lambda means: means.given_up, fine, "less", "more"),
    _Figure("As good as best", lambda means: means.within_resolution, percent, "fewer", "more"),
    _Figure("Tiles away", lambda means: means.tiles_away, "{:.1f}".format, "nearer", "farther"),
)


def _cell(means: Figures, figure: _Figure) -> str:
    value = figure.of(means)
    return "-" if value is None else figure.written(value)


def _trend(halves: tuple[Figures, Figures] | None) -> list[str]:
    if halves is None:
        return [f"Trend: {FEWEST} finished laps are needed to tell one half from the other."]
    first, second = halves
    lines = [f"First {counted(first.laps, 'lap')} against the last {second.laps}"]
    for figure in FIGURES:
        before, after = figure.of(first), figure.of(second)
        if before is None or after is None:
            continue
        was, now = figure.written(before), figure.written(after)
        word = figure.less if after < before else figure.more
        change = f"{was}, then {now}: {figure.written(abs(after - before))} {word}"
        lines += labeled(figure.name, f"{was} before and after: no change" if was == now else change)
    return [
        *lines,
        *paragraph("Lost: rack strength given up in a lap, against the best pass each time."),
        *paragraph("Deals differ: a small change between so few laps may be luck."),
    ]


def _notes(laps: Sequence[LoggedLap], left: int) -> list[str]:
    notes = []
    if left:
        are = "is" if left == 1 else "are"
        notes += paragraph(f"{counted(left, 'lap')} stopped before the end {are} not counted.")
    ungraded = sum(lap.figures.given_up is None for lap in laps)
    if ungraded:
        notes += paragraph(f"{counted(ungraded, 'lap')} without a review: only the time counts.")
    cards, lengths = sorted({lap.card for lap in laps}), sorted({lap.figures.passes for lap in laps})
    if len(cards) > 1 or len(lengths) > 1:
        notes += paragraph(
            f"Laps differ in kind (cards: {', '.join(cards)}; rounds: {', '.join(map(str, lengths))}): "
            "their times and what they lose are not quite alike."
        )
    return notes


_LEFT, _RIGHT, _TALL = 80, 700, 180
_MOST_STEPS = 6
_MOST_LABELS = 20
_ROUND = tuple(times * 10**power for power in range(9) for times in (1, 2, 5))
TIME_STEPS = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1_800, *(3_600 * hours for hours in _ROUND))
STRENGTH_STEPS = tuple(each / 1_000 for each in _ROUND)
# Name, label, steps of the ticks and upper edge of each panel, in the order of the figures.
_PANELS = (
    ("time", "Time (min:s)", TIME_STEPS, 50),
    ("lost", "Lost (rack strength)", STRENGTH_STEPS, 300),
)


def ticks_to(most: float, steps: Sequence[float]) -> list[float]:
    """Return two to seven ticks from 0 to at least ``most`` (0 or more), one of the ascending steps apart."""
    step = next((step for step in steps if most <= step * _MOST_STEPS), most)
    return [step * index for index in range(max(1, math.ceil(most / step - 1e-9)) + 1)]


def plot_of(rows: Sequence[Row], by: str) -> str:
    """Return an SVG document of one or more rows: the time, and below it the rack strength lost.

    Args:
        rows: Lap by lap or day by day, in the order of time.
        by: ``lap`` or ``day``, for the labels.
    """
    from jinja2 import Template

    count = len(rows)
    start = _LEFT + 20 if count > 1 else (_LEFT + _RIGHT) / 2
    between = (_RIGHT - _LEFT - 40) / max(1, count - 1)
    source = Path(__file__).with_name("plot.svg").read_text(encoding="utf-8")
    template = Template(source, autoescape=True, trim_blocks=True, keep_trailing_newline=True)
    drawn: str = template.render(
        size=counted(count, by),
        by=by,
        dates=[date for date, _ in rows],
        left=_LEFT,
        right=_RIGHT,
        across=[start + between * index for index in range(count)],
        numbers=range(0, count, math.ceil(count / _MOST_LABELS)),
        panels=[_panel(rows, *each) for each in zip(FIGURES, _PANELS, strict=False)],
    )
    return drawn


def _panel(
    rows: Sequence[Row], figure: _Figure, place: tuple[str, str, Sequence[float], int]
) -> dict[str, Any]:
    name, label, steps, top = place
    marks = [(at, value) for at, (_, means) in enumerate(rows) if (value := figure.of(means)) is not None]
    there = [value for _, value in marks]
    says = None
    if there:
        first, last, least, most = map(figure.written, (there[0], there[-1], min(there), max(there)))
        says = f"{label}: first {first}, last {last}, least {least}, most {most}."
    ticks = ticks_to(max(there, default=0.0), steps)
    scale = _TALL / ticks[-1]
    bottom = top + _TALL
    written = figure.written
    return {
        "name": name,
        "label": label,
        "says": says,
        "top": top,
        "bottom": bottom,
        "ticks": [{"y": bottom - scale * tick, "words": written(tick)} for tick in ticks],
        "marks": [{"at": at, "y": bottom - scale * value, "words": written(value)} for at, value in marks],
    }
