"""Averages over graded laps: what the service answers, and what the command adds up lap by lap."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from fractions import Fraction
from typing import Any

from api.words import clock, session_words

# As numbers are rounded in every answer.
_DECIMALS = 12


@dataclass(frozen=True)
class Figures:
    """What is counted of one lap, or on average of several; each is None where it is not known.

    Passes are counted in all, what is given up and what the best passes keep is rack strength over a lap,
    passes as good as the best are a share of 0 to 1, and the time is that of laps timed throughout.
    """

    passes: int
    seconds: float | None
    given_up: float | None
    best: float | None
    within_resolution: float | None
    tiles_away: float | None
    laps: int = 1

    @classmethod
    def of_review(cls, review: Mapping[str, Any]) -> Figures:
        """Read a review as in an answer of ``POST /v1/reviews``."""
        passes = review["passes"]
        as_good = sum(bool(graded["within_resolution"]) for graded in passes) / len(passes)
        best = sum(graded["best"]["strength"] for graded in passes)
        seconds = None if review["seconds"] is None else float(review["seconds"])
        return cls(
            len(passes), seconds, float(review["given_up"]), best, as_good, float(review["tiles_away"])
        )

    @classmethod
    def average(cls, laps: Sequence[Figures]) -> Figures:
        """Average one or more laps, each figure over those that have it."""
        return cls(
            passes=sum(lap.passes for lap in laps),
            seconds=mean([lap.seconds for lap in laps]),
            given_up=mean([lap.given_up for lap in laps]),
            best=mean([lap.best for lap in laps]),
            # A share is of passes: a lap of more passes counts for more.
            within_resolution=mean([lap.within_resolution for lap in laps for _ in range(lap.passes)]),
            tiles_away=mean([lap.tiles_away for lap in laps]),
            laps=len(laps),
        )


def mean(values: Sequence[float | None]) -> float | None:
    """Return the mean of the numbers there are, exactly, then rounded once; None of none."""
    there = [Fraction(value) for value in values if value is not None]
    return float(sum(there) / len(there)) if there else None


def session_of(laps: Sequence[Figures]) -> dict[str, Any]:
    """Return the averages over one or more graded laps, as they are written in an answer.

    ``share`` is what was given up as a share of what the best passes keep, 0 when that is nothing.
    """
    means = asdict(Figures.average(laps))
    names = ("seconds", "given_up", "tiles_away", "within_resolution")
    rounded = {name: None if means[name] is None else round(means[name], _DECIMALS) for name in names}
    share = round(means["given_up"] / means["best"], _DECIMALS) if means["best"] else 0.0
    timed = sum(lap.seconds is not None for lap in laps)
    session: dict[str, Any] = {"laps": len(laps), "timed": timed, "share": share, **rounded}
    time = None if session["seconds"] is None else clock(session["seconds"])
    return {**session, "time": time, "words": session_words(session)}
