"""The table of laps or days, and the trend in plain words."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from clients.cli.practice.log_reading import LoggedLap
from clients.cli.practice.trend import FEWEST, Means, Trend
from clients.cli.render.layout import labelled, paragraph
from clients.cli.render.table import table
from clients.cli.render.words import counted, fine, percent
from clients.cli.times import clock

_HEAD = ("Date", "Laps", "Time", "Given up", "As good", "Tiles away")


def progress_text(rows: Sequence[Means], trend: Trend | None, laps: Sequence[LoggedLap], left: int) -> str:
    """Return the page.

    Args:
        rows: Lap by lap or day by day.
        trend: First half against second, or None of too few laps.
        laps: The finished laps.
        left: How many laps were stopped before their end.
    """
    blocks = [
        table(_HEAD, [_cells(row) for row in rows], right=range(1, len(_HEAD))),
        _trend(trend),
        _notes(laps, left),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _cells(row: Means) -> tuple[str, ...]:
    return (
        row.date,
        f"{row.laps:,}",
        _or_dash(row.seconds, clock),
        _or_dash(row.given_up, fine),
        _or_dash(row.share, percent),
        _or_dash(row.away, _tiles),
    )


def _or_dash(value: float | None, written: Callable[[float], str]) -> str:
    return "-" if value is None else written(value)


def _tiles(number: float) -> str:
    return f"{number:.1f}"


def _trend(trend: Trend | None) -> list[str]:
    if trend is None:
        return [f"Trend: {FEWEST} finished laps are needed to tell one half from the other."]
    first, second = trend.first, trend.second
    return [
        f"First {counted(first.laps, 'lap')} against the last {second.laps}",
        *_change("Time", first.seconds, second.seconds, clock, ("faster", "slower")),
        *_change("Given up", first.given_up, second.given_up, fine, ("less", "more")),
        *_change("As good as best", first.share, second.share, percent, ("fewer", "more")),
        *_change("Tiles away", first.away, second.away, _tiles, ("nearer", "farther")),
        *paragraph("Deals differ: a small change between so few laps may be luck."),
    ]


def _change(
    label: str,
    first: float | None,
    second: float | None,
    written: Callable[[float], str],
    words: tuple[str, str],
) -> list[str]:
    if first is None or second is None:
        return []
    was, now = written(first), written(second)
    if was == now:
        return labelled(label, f"{was} before and after: no change")
    word = words[0] if second < first else words[1]
    return labelled(label, f"{was}, then {now}: {written(abs(second - first))} {word}")


def _notes(laps: Sequence[LoggedLap], left: int) -> list[str]:
    notes = []
    if left:
        are = "is" if left == 1 else "are"
        notes += paragraph(f"{counted(left, 'lap')} stopped before the end {are} not counted.")
    ungraded = sum(lap.given_up is None for lap in laps)
    if ungraded:
        notes += paragraph(f"{counted(ungraded, 'lap')} without a review: only the time counts.")
    cards, lengths = sorted({lap.card for lap in laps}), sorted({lap.passes for lap in laps})
    if len(cards) > 1 or len(lengths) > 1:
        notes += paragraph(
            f"Laps differ in kind (cards: {', '.join(cards)}; rounds: {', '.join(map(str, lengths))}): "
            "their times and what they give up are not quite alike."
        )
    return notes
