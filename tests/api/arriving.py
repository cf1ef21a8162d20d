"""Arrivals as an answer says them."""

from typing import Any

from solver.arrivals import Coming


def arriving(coming: Coming) -> dict[str, Any]:
    """Return how an answer says what it takes to be to come."""
    lengths = [{"draws": each.draws, "claims": each.claims, "share": share} for share, each in coming.parts]
    return {
        "charleston": coming.charleston,
        **{
            count: round(sum(each["share"] * each[count] for each in lengths), 12)
            for count in ("draws", "claims")
        },
        "lengths": [{**each, "share": round(each["share"], 12)} for each in lengths],
    }
