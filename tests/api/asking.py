"""What many tests of the service ask, and how they read an answer."""

import asyncio
from collections.abc import Awaitable, Callable
from enum import Enum
from typing import Any

import httpx2
from starlette.testclient import TestClient

from api.answers.cards import checked
from api.http.app import create_app
from api.settings import Settings
from patterns.card_file import shipped_card
from patterns.fit_file import shipped_fit
from patterns.rack import parse_rack
from patterns.tiles import KINDS, Tile
from solver.arrivals import Arrivals

# What fixtures give: an operation to send bodies to, and how the faults in its answer are read.
Ask = Callable[..., httpx2.Response]
Faults = Callable[[httpx2.Response], list[str]]

RACK = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"
TOKENS = ["2b", "4b", "4c", "5c", "5c", "6c", "1d", "5d", "8d", "E", "W", "F", "F", "J"]
BODY = {"rack": RACK, "round": "first_right", "card": "small"}
SMALL = shipped_card("small")
FIT = checked(shipped_fit("small"), SMALL)
# Two ranks five apart over two suits, and six flowers: 24 targets.
APART = "np*4 (n+5)q*4 flower*6"
HAND = {"name": "Apart", "family": "windows", "groups": APART}
# The service goes by this name; a test client calls it another by itself.
LOCAL = "http://localhost"
JSON = {"content-type": "application/json"}

RIGHT: dict[str, Any] = {"round": "first_right", "given": "5c 5c E", "received": "3b 9c N", "seconds": 41.5}
ACROSS: dict[str, Any] = {
    "round": "first_across",
    "given": "9c N 6c",
    "received": "5b S white",
    "seconds": 38,
}
LEFT: dict[str, Any] = {
    "round": "first_left",
    "given": "S white",
    "received": "5c 2d",
    "blind": 1,
    "seconds": 39.5,
}
COURTESY: dict[str, Any] = {"round": "courtesy", "given": "W", "received": "F"}


def opened(**settings: Any) -> TestClient:
    """Return a client of a service in this process, of one thread and on no network, to be entered."""
    return TestClient(create_app(Settings(**{"threads": 1, **settings})), LOCAL)


def pointers(faults: str) -> list[str]:
    """Return faults as the fixture ``faults`` does, from places and words with commas between."""
    return [f"#/{each}" for each in faults.split(", ")]


def card(*hands: object, name: str = "Mine") -> dict[str, Any]:
    """Return a card of one's own, written out."""
    return {"card": {"name": name}, "hand": list(hands or [HAND])}


def record(*exchanges: dict[str, Any], **members: Any) -> dict[str, Any]:
    """Return a record on the small card, with members replaced or added."""
    return {"rack": RACK, "card": "small", "exchanges": list(exchanges or [RIGHT]), **members}


def all_seen_but(left: int) -> list[str]:
    """Return all naturals outside the rack but a few."""
    held = parse_rack(RACK).tiles
    rest = [t.value for t in KINDS if t is not Tile.JOKER for _ in range(t.copies - held.count(t))]
    return rest[: len(rest) - left]


def sent(value: Any) -> Any:
    """Return what the solver found as answers have it: numbers rounded, words and tiles as texts."""
    if isinstance(value, float):
        return round(value, 12)
    if isinstance(value, Enum):
        return value.value
    return [sent(each) for each in value] if isinstance(value, tuple) else value


_NAMES = {"pass": "passed", "expected_hands": "expected"}


def members(found: object, names: str, **others: Any) -> dict[str, Any]:
    """Return what the solver found by the names that members of an answer have, and others beside them."""
    return {name: sent(getattr(found, _NAMES.get(name, name))) for name in names.split()} | others


def arriving(coming: Arrivals) -> dict[str, Any]:
    """Return how an answer says what it takes to be to come."""
    means = {
        count: sent(sum(each.share * getattr(each, count) for each in coming.lengths))
        for count in ("draws", "claims")
    }
    lengths = [members(each, "draws claims share") for each in coming.lengths]
    return {"charleston": coming.charleston, **means, "lengths": lengths}


def numbers_only(value: Any) -> Any:
    """Return an answer without what it says in words."""
    if isinstance(value, dict):
        # What a graded pass keeps is a text; what one's own pass keeps is a list of hands.
        told = {"words", "why"} if isinstance(value.get("keeps"), list) else {"words", "why", "keeps"}
        return {key: numbers_only(part) for key, part in value.items() if key not in told}
    return [numbers_only(part) for part in value] if isinstance(value, list) else value


async def driven(app: Any, path: str, receive: Callable[[], Awaitable[dict[str, Any]]]) -> list[int]:
    """Post to the application as a server would, a message at a time; return the statuses sent."""
    sent: list[int] = []

    async def send(message: Any) -> None:
        if message["type"] == "http.response.start":
            sent.append(message["status"])

    headers = [(b"content-type", b"application/json")]
    scope = {"type": "http", "method": "POST", "path": path, "query_string": b"", "headers": headers}
    await asyncio.wait_for(app(scope, receive, send), 60)
    return sent
