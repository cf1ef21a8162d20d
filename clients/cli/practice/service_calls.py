"""What practice asks of the service: a deal, and the grades of a lap."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clients.cli.lines import encoded
from clients.cli.practice.lap import Deal
from clients.cli.practice.rounds import PASS_SIZE
from clients.cli.practice.tiles import JOKER, TOKENS
from clients.cli.problems import answer_of, not_threepass
from clients.cli.transport import Service

_RACK = 14


def fetch_deal(
    service: Service, card: str | dict[str, Any], seed: int, start: int, rounds: int, difficulty: str
) -> tuple[Deal | None, int]:
    """Return the first deal that fits, from an index on, and how many were tried; None if none fits.

    Raises:
        RefusedError: the service refused.
        UnreachableError: no answer, or not one of threepass.
    """
    wish = {
        "seed": seed,
        "start": start,
        "drill": {"exchanges_left": rounds},
        "heap": True,
        "difficulty": difficulty,
        "card": card,
    }
    answer = answer_of(service.post("/v1/deals", encoded(wish)))
    try:
        if not answer["deals"]:
            return None, int(answer["tried"])
        found = answer["deals"][0]
        deal = Deal(seed, int(found["index"]), tuple(found["rack"]), tuple(found["heap"]))
        right = (
            len(deal.rack) == _RACK
            and len(deal.heap) >= PASS_SIZE * rounds
            and {*deal.rack, *deal.heap} <= {*TOKENS}
            and JOKER not in deal.heap
        )
        if right:
            return deal, int(answer["tried"])
    except (LookupError, TypeError, ValueError):
        pass
    raise not_threepass()


def fetch_review(service: Service, record: Mapping[str, Any]) -> dict[str, Any]:
    """Return the answer of ``POST /v1/reviews`` for one record.

    Raises:
        RefusedError: the service refused.
        UnreachableError: no answer, or not one of threepass.
    """
    return answer_of(service.post("/v1/reviews", encoded({"records": [record]})))


def result_of(answer: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the log keeps of a review.

    Raises:
        UnreachableError: the answer does not have that shape.
    """
    try:
        review, session = answer["reviews"][0], answer["session"]
        return {
            "given_up": review["given_up"],
            "share_within_resolution": session["within_resolution"],
            "tiles_away": review["tiles_away"],
            "seconds": review["seconds"],
            "pace": review["pace"],
        }
    except (LookupError, TypeError):
        raise not_threepass() from None
