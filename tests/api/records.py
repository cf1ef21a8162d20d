"""A recorded Charleston on the wire, exchange by exchange."""

from typing import Any

from tests.api.racks import RACK

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


def record(*exchanges: dict[str, Any], **members: Any) -> dict[str, Any]:
    """Return a record on the small card, with members replaced or added."""
    return {"rack": RACK, "card": "small", "exchanges": list(exchanges or [RIGHT]), **members}
