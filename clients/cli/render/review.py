"""Graded Charlestons, on a page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from clients.cli.render.hand import hand_lines, some_hand_lines
from clients.cli.render.layout import labelled
from clients.cli.render.table import table
from clients.cli.render.words import counted, fine, hands, percent
from clients.cli.times import clock

Answer = Mapping[str, Any]


def reviews_text(answer: Answer) -> str:
    """Return the page for an answer of ``POST /v1/reviews``: each lap, and averages over two or more.

    Raises:
        KeyError, TypeError, ValueError, AttributeError: the answer does not have that shape.
    """
    laps = [lap_text(review, f"Lap {number}") for number, review in enumerate(answer["reviews"], 1)]
    session = answer["session"]
    return "\n\n".join([*laps, *([session_text(session)] if session["laps"] > 1 else [])])


def lap_text(review: Answer, title: str) -> str:
    """Return the page for one review.

    Raises:
        KeyError, TypeError, ValueError, AttributeError: the review does not have the API's shape.
    """
    blocks = [
        [title, *_passes(review["passes"])],
        _totals(review),
        _likeliest(review),
        _hindsight(review["passes"]),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def session_text(session: Answer) -> str:
    """Return the page for the averages of a session.

    Raises:
        KeyError, TypeError, ValueError, AttributeError: they do not have the API's shape.
    """
    if session["time"] is None:
        time = "no lap was timed throughout"
    elif session["timed"] == session["laps"]:
        time = f"{session['time']} a lap"
    else:
        time = f"{session['time']} a lap, over the {session['timed']} timed"
    lines = [
        f"Average over {counted(session['laps'], 'lap')}",
        *labelled("Time", time),
        *labelled("Given up", f"{fine(session['given_up'])} expected hands a lap"),
        *labelled("As good as best", f"{percent(session['within_resolution'])} of the passes"),
        *labelled("Tiles away", f"{session['tiles_away']:.1f} at the end"),
    ]
    return "\n".join(lines)


def _passes(passes: Sequence[Answer]) -> list[str]:
    rows = [
        [
            _round(graded),
            _tiles(graded["given"], graded["blind"]),
            _tiles(graded["best"]["pass"], graded["best"]["blind"]),
            fine(graded["given_up"]),
            percent(graded["share"]),
            "yes" if graded["within_resolution"] else "no",
            "-" if graded["seconds"] is None else clock(graded["seconds"]),
        ]
        for graded in passes
    ]
    head = ["Round", "Given", "Best", "Given up", "Share", "As good", "Time"]
    return table(head, rows, right=(3, 4, 6))


def _totals(review: Answer) -> list[str]:
    end = f"{hands(review['expected_hands'])} expected hands, {_away(review['tiles_away'])}"
    return [
        *labelled("Given up", f"{fine(review['given_up'])} expected hands in all"),
        *_costliest(review["costliest"]),
        *labelled("Time", _time(review)),
        *labelled("At the end", end),
        *some_hand_lines(review["some_hand"]),
    ]


def _likeliest(review: Answer) -> list[str]:
    if not review["hands"]:
        return []
    return ["Likeliest hand at the end", *hand_lines(review["hands"][0])]


def _costliest(costliest: Answer | None) -> list[str]:
    if costliest is None:
        return labelled("Cost most", "no pass gave up anything")
    why = " ".join(costliest["why"].split())
    return labelled("Cost most", f"the {_round(costliest)} pass, {fine(costliest['given_up'])}. {why}")


def _time(review: Answer) -> str:
    if review["time"] is None:
        return "not taken for every pass"
    pace = f", pace: {review['pace']}" if review["pace"] else ""
    return f"{review['time']} in all{pace}"


def _away(tiles: int) -> str:
    return "a target is complete" if tiles == 0 else f"{counted(tiles, 'tile')} away from the nearest target"


def _hindsight(passes: Sequence[Answer]) -> list[str]:
    rows = [
        [
            _round(graded),
            _tiles(graded["received"]),
            _tiles(graded["hindsight"]["pass"]),
            hands(graded["hindsight"]["expected_hands"]),
            hands(graded["hindsight"]["made"]),
        ]
        for graded in passes
    ]
    head = ["Round", "Came in", "Best, had one known", "Worth", "As given"]
    return ["With hindsight, no part of the grade", *table(head, rows, right=(3, 4))]


def _round(graded: Answer) -> str:
    name: str = graded["round"].replace("_", " ")
    return name


def _tiles(tokens: Sequence[str], blind: int = 0) -> str:
    parts = [" ".join(tokens)] if tokens else []
    return ", ".join([*parts, *([f"{blind} blind"] if blind else [])]) or "none"
