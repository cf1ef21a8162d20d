"""Averages over laps that came in several answers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from clients.cli.times import clock, mean

_DECIMALS = 12


def session_of(reviews: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Return the averages over one or more reviews, in the shape the API gives them.

    Args:
        reviews: Reviews as in an answer of ``POST /v1/reviews``.

    Raises:
        KeyError, TypeError, ValueError: a review does not have that shape.
    """
    times = [review["seconds"] for review in reviews if review["seconds"] is not None]
    level = [graded["within_resolution"] for review in reviews for graded in review["passes"]]
    seconds = mean(times) if times else None
    return {
        "laps": len(reviews),
        "timed": len(times),
        "seconds": None if seconds is None else round(seconds, _DECIMALS),
        "time": None if seconds is None else clock(seconds),
        "given_up": round(mean([review["given_up"] for review in reviews]), _DECIMALS),
        "tiles_away": round(mean([review["tiles_away"] for review in reviews]), _DECIMALS),
        "within_resolution": round(mean(level), _DECIMALS),
    }
