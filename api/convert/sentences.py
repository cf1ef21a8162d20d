"""Reasons as sentences for people."""

from __future__ import annotations

from collections.abc import Iterable

from patterns.tiles import Tile
from solver.review import GradedPass
from solver.why import Sensitivity, Why


def tokens(tiles: Iterable[Tile], blind: int = 0) -> str:
    """Return tiles as tokens, and how many more go on unseen."""
    own = " ".join(tile.value for tile in sorted(tiles, key=lambda tile: tile.position))
    parts = [own] if own else []
    if blind:
        parts.append(f"{blind} blind")
    return " and ".join(parts) or "nothing"


def percent(share: float) -> str:
    """Return a share in percent; what would round to nothing says so."""
    return "under 0.1 %" if 0 < share < 0.0005 else f"{100 * share:.1f} %"


def hands(expected: float) -> str:
    """Return a number of expected hands; what would round to nothing says so."""
    return "under 0.001" if 0 < expected < 0.0005 else f"{expected:.3f}"


def graded_sentence(graded: GradedPass, blind: int) -> str:
    """Say why a pass got its grade.

    Args:
        graded: The pass and its grade.
        blind: Incoming tiles that the best pass gives on unseen.
    """
    if graded.within_resolution:
        return "This pass cannot be told from the best."
    best = graded.best
    start = (
        f"Best was {tokens(best.passed, blind)}: {hands(graded.given_up)} expected hands more"
        f" ({percent(graded.share)} of {hands(best.expected)})."
    )
    kept = [
        f"{reason.hand.name} at {better} rather than {worse}"
        for reason in graded.reasons
        if (better := percent(reason.before)) != (worse := percent(reason.after))
    ]
    return f"{start} It keeps {'; '.join(kept)}." if kept else start


def why_sentence(why: Why) -> str:
    """Say which tile is dearest to pass, and whether the answer hangs on the arrivals."""
    return " ".join([_dearest(why), *_varied(why)])


def _dearest(why: Why) -> str:
    if not why.costs:
        return "No tile is passed."
    cost, tile = max(((each.cost or 0.0, each.tile) for each in why.costs), key=lambda pair: pair[0])
    if not cost:
        return "No tile that may go costs more than those in the pass."
    return f"The dearest tile to pass is {tile.word} ({hands(cost)} expected hands)."


def _varied(why: Why) -> list[str]:
    # Where nothing is drawn or claimed there was nothing to vary.
    varied = [each for each in why.sensitivity if each.arrivals.mean_draws + each.arrivals.mean_claims]
    same = [_direction(each) for each in varied if each.same]
    says = [f"With a fifth {' or '.join(same)} draws and claims no pass would be better."] if same else []
    return says + [
        f"With a fifth {_direction(each)} draws and claims {tokens(each.passed)} would be better,"
        f" by {hands(each.regret)} expected hands."
        for each in varied
        if not each.same
    ]


def _direction(each: Sensitivity) -> str:
    return "fewer" if each.share < 1 else "more"
