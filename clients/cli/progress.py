"""``threepass progress``: how practice goes, from the log alone; ``threepass class``: many logs compared."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Any

import click

from api.service import Figures, clock, counted, fine, percent
from clients.cli import options as shared
from clients.cli.log import LoggedLap, default_log, read_log, told_of
from clients.cli.output import (
    Exit,
    Failure,
    complain,
    in_groups,
    labeled,
    page,
    paragraph,
    say,
    table,
    write_whole,
)
from clients.cli.service import Answer, Service, show_answer

FEWEST = 4
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
@shared.more_than
@click.option("--json", "as_json", is_flag=True, help="Print the figures in JSON.")
@shared.server
def progress(
    log: str | None, plot: str | None, by: str, more_than: float, as_json: bool, service: Service
) -> None:
    """Show how practice goes: time, rack strength lost, passes as good as the best; and where you lose.

    Passes are compared by round, by time taken, by what was given and by the direction given up. Nothing is
    said of few passes, nor where luck may explain it. Lines of the log that are torn or not of threepass are
    named on stderr and left out. Exit codes: 0 shown, 1 refused, 2 wrong usage or a log that cannot be read,
    3 no server reached, 5 the plot could not be written.
    """
    found, skipped = read_log(log)
    whole = [lap for lap in found if not lap.single]
    laps = [lap for lap in whole if lap.entry["finished"]]
    left = len(whole) - len(laps)
    rows, halves = rows_of(laps, by == "day"), halves_of(laps)
    told = told_of(found, more_than, service)[0] if any(lap.passes for lap in found) else None
    if as_json:
        named = zip(("first", "second"), halves or (), strict=False)
        trend = {name: _in_json(f"{name} half", means) for name, means in named}
        said = {"rows": [_in_json(*row) for row in rows], "trend": trend or None}
        say(json.dumps({**said, "unfinished": left, "skipped_lines": skipped, "told": told}))
    else:
        blocks = [_table(rows), _trend(halves), _notes(laps, left)]
        say(page(blocks) if laps else f"no finished laps in {log or default_log()}")
        if told is not None:
            say("\n" + page([_where(told)]))
    if plot is not None:
        write_whole(Path(plot), plot_of(rows, by).encode())


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


def _in_json(date: str, means: Figures) -> dict[str, Any]:
    """Return figures for programs: seconds, rack strength, shares 0 to 1 and tiles."""
    return {"date": date, "laps": means.laps, **{each.key: each.of(means) for each in FIGURES}}


def _where(told: Answer) -> list[str]:
    words = told["words"]
    rows = [group["words"] for group in told["groups"]]
    cells = [[row[name] for name in ("by", "name", "passes", "lost", "interval")] for row in rows]
    head = ["Passes", "Kind", "Number", "Lost", "95 % interval"]
    return [
        "Where you lose",
        *paragraph(words["where"]),
        *paragraph(words["again"]),
        *table(head, cells, right=(2, 3, 4)),
    ]


@dataclass(frozen=True)
class _Figure:
    """One figure of a lap: its names, how it is read and written, and what less and more of it is called."""

    key: str
    name: str
    of: Callable[[Figures], float | None]
    written: Callable[[float], str]
    less: str
    more: str


FIGURES = (
    _Figure("seconds", "Time", lambda means: means.seconds, clock, "faster", "slower"),
    _Figure("given_up", "Lost", lambda means: means.given_up, fine, "less", "more"),
    _Figure("share", "As good as best", lambda means: means.within_resolution, percent, "fewer", "more"),
    _Figure("away", "Tiles away", lambda means: means.tiles_away, "{:.1f}".format, "nearer", "farther"),
)


def _table(rows: Sequence[Row]) -> list[str]:
    cells = []
    for date, means in rows:
        figures = [(figure, figure.of(means)) for figure in FIGURES]
        written = ("-" if value is None else figure.written(value) for figure, value in figures)
        cells.append([date, f"{means.laps:,}", *written])
    return table(_HEAD, cells, right=range(1, len(_HEAD)))


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
    older = sum(lap.figures.given_up is not None and not lap.passes for lap in laps)
    if older:
        notes += paragraph(
            f"{counted(older, 'lap')} of an older version: where you lose is not told of them."
        )
    cards, lengths = sorted({lap.card for lap in laps}), sorted({lap.figures.passes for lap in laps})
    if len(cards) > 1 or len(lengths) > 1:
        notes += paragraph(
            f"Laps differ in kind (cards: {', '.join(cards)}; rounds: {', '.join(map(str, lengths))}): "
            "their times and what they lose are not quite alike."
        )
    return notes


_MOST_LABELS, _LEAST = 20, 0.001
_STEPS = (5, 10, 30, 60, 120, 300, 600, 1_800, 3_600, 14_400)


def plot_of(rows: Sequence[Row], by: str) -> str:
    """Return an SVG document of rows, ``lap`` by lap or ``day`` by day: the time, and the rack strength lost.

    Rows with neither are a `Failure`.
    """
    import leather

    grid, told = leather.Grid(), [counted(len(rows), by)]
    for figure, label in zip(FIGURES, ("Time (min:s)", "Lost (rack strength)"), strict=False):
        values = [figure.of(means) for _, means in rows]
        marks = [(at, value) for at, value in enumerate(values, 1) if value is not None]
        if not marks:
            continue
        there = [value for _, value in marks]
        first, last, least, most = map(figure.written, (there[0], there[-1], min(there), max(there)))
        told.append(f"{label}: first {first}, last {last}, least {least}, most {most}.")
        chart = leather.Chart(label)
        chart.add_x_scale(0, len(rows) + 1)
        numbers = list(range(1, len(rows) + 1, math.ceil(len(rows) / _MOST_LABELS)))
        chart.add_x_axis(numbers, lambda number, *_: str(int(number)), f"{by} (1 is the first)")
        ticks = _clock_ticks(max(there)) if figure.written is clock else None
        chart.add_y_scale(0, max(ticks or there) or _LEAST)
        chart.add_y_axis(ticks, lambda value, *_, written=figure.written: written(float(value)))
        chart.add_line(marks, stroke_color="black", name=f"from {by} to {by}")
        chart.add_dots(marks, fill_color="black", name=f"each {by}")
        grid.add_one(chart)
    if len(told) == 1:
        raise Failure(Exit.USAGE, "--plot: no finished laps to draw")
    drawn: str = grid.to_svg()
    return drawn.replace("<svg ", f'<svg role="img" aria-label="{" ".join(told)}" ', 1)


def _clock_ticks(most: float) -> list[float]:
    """Return two to seven ticks from 0 to at least so many seconds, at steps of a clock."""
    step = next((step for step in _STEPS if most <= 6 * step), most)
    return [step * index for index in range(max(1, math.ceil(most / step)) + 1)]


_LOGS = (".jsonl", ".json", ".txt")


@click.command("class", short_help="Many logs in one table: who passed what, and what to talk about.")
@click.argument("logs", nargs=-1, required=True, metavar="FOLDER|FILE...")
@shared.whole("--seed", "Only what was dealt from this seed.")
@click.option("--csv", metavar="FILE", help="Write a line a pupil and problem into this file.")
@click.option("--html", metavar="FILE", help="Write a page to print into this file.")
@shared.as_json
@shared.server
def class_table(
    logs: Sequence[str], seed: int | None, as_json: bool, service: Service, **to: str | None
) -> None:
    """Compare what the pupils of a class passed from the same racks.

    Each file is the log of a pupil, called by the file's name, and files of one name are of one pupil; of a
    folder, the files .jsonl, .json and .txt. Pupils who practice by the same --seed have the same racks. Of
    each pupil the first try of a rack counts. Lines that are torn or foreign are named on stderr and left
    out. Exit codes: 0 shown, 1 refused, 2 wrong usage or a log that cannot be read, 3 no server reached, 5 a
    file could not be written.
    """
    pupils: dict[str, list[Any]] = {}
    for path in _logs_in(logs):
        laps = [lap for lap in read_log(str(path), path.name)[0] if seed in (None, lap.entry.get("seed"))]
        if bare := [lap for lap in laps if not lap.passes]:
            complain(f"{path.name}: {counted(len(bare), 'lap')} without grades left out")
        pupils.setdefault(path.stem, []).extend(each for lap in laps for each in lap.passes)
    asked = {"pupils": pupils, "files": any(to.values())}
    answer = show_answer("/v1/classes", asked, as_json, service, _class_text)
    for form, file in to.items():
        if file is not None:
            write_whole(Path(file), answer[form].encode())


def _logs_in(named: Sequence[str]) -> list[Path]:
    found = []
    for path in map(Path, named):
        inside = sorted(each for each in path.iterdir() if each.suffix in _LOGS) if path.is_dir() else [path]
        if not inside:
            raise Failure(Exit.USAGE, f"{path}: no logs in this folder ({', '.join(_LOGS)})")
        found += inside
    return found


def _class_text(answer: Answer) -> str:
    blocks = [[line for words in answer["words"].values() if words for line in paragraph(words, 0)]]
    for problem in answer["problems"]:
        words = problem["words"]
        rows = [[each["words"][name] for name in ("given", "lost", "pupils")] for each in problem["made"]]
        blocks.append([f"{words['title']}: {words['lost']}", *labeled("Rack", in_groups(problem["rack"]))])
        blocks[-1] += [*labeled("Best", words["best"]), *table(["Passed", "Lost", "Pupils"], rows, right=[1])]
    names = ("lost", "passes", "worst")
    rows = [[each["name"], *(each["words"][name] for name in names)] for each in answer["pupils"]]
    blocks.append(table(["Pupil", "Lost", "Passes", "Lost most on"], rows, right=[1, 2]))
    return page(blocks)
