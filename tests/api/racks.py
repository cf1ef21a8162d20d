"""A rack that many tests ask about."""

from patterns.rack import parse_rack
from patterns.tiles import KINDS, Tile

RACK = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"
TOKENS = ["2b", "4b", "4c", "5c", "5c", "6c", "1d", "5d", "8d", "E", "W", "F", "F", "J"]


def all_seen_but(left: int) -> list[str]:
    """Return all naturals outside the rack but a few."""
    held = parse_rack(RACK).tiles
    rest = [t.value for t in KINDS if t is not Tile.JOKER for _ in range(t.copies - held.count(t))]
    return rest[: len(rest) - left]
