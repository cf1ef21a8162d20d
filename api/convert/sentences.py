"""Reasons as sentences for people."""

from __future__ import annotations

from collections.abc import Iterable

from patterns.rack_text import format_tiles
from patterns.tiles import Tile
from solver.review.grade import GradedPass
from solver.why import Why


def _tiles(tiles: Iterable[Tile], blind: int = 0) -> str:
    own = format_tiles(tiles)
    parts = [own] if own else []
    if blind:
        parts.append(f"{blind} blind")
    return " and ".join(parts) or "nothing"


def _percent(reach: float) -> str:
    return f"{100 * reach:.1f} %"


def graded_sentence(graded: GradedPass) -> str:
    """Say why a pass got its grade."""
    best = graded.best
    if graded.within_resolution:
        return "This pass cannot be told from the best."
    number = next(value for value in best.by_number if value.give == len(best.passed))
    start = (
        f"Best was {_tiles(best.passed, number.blind)}: {graded.given_up:.3f} expected hands more"
        f" ({_percent(graded.share)} of {best.expected:.3f})"
    )
    if not graded.reasons:
        return start + "."
    kept = "; ".join(
        f"{reason.hand.name} at {_percent(reason.before)} rather than {_percent(reason.after)}"
        for reason in graded.reasons
    )
    return f"{start}. It keeps {kept}."


def why_sentence(why: Why) -> str:
    """Say which tile is dearest to pass, and whether the answer hangs on the arrivals."""
    costs = [cost for cost in why.costs if cost.cost]
    parts = []
    if costs:
        dearest = max(costs, key=lambda cost: cost.cost or 0.0)
        parts.append(f"The dearest tile to pass is {dearest.tile.word} ({dearest.cost:.3f} expected hands).")
    changed = [each for each in why.sensitivity if not each.same]
    if not changed:
        parts.append("With a fifth fewer or more draws and claims the best pass stays the same.")
    for each in changed:
        word = "fewer" if each.share < 1 else "more"
        parts.append(
            f"With a fifth {word} draws and claims {_tiles(each.passed)} would be better,"
            f" by {each.regret:.4f} expected hands."
        )
    return " ".join(parts)
