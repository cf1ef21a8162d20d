"""Racks and questions for tests."""

import random
from functools import cache

from patterns.card import Card
from patterns.card_file import shipped_card
from patterns.rack import Rack, parse_rack
from patterns.tiles import KINDS
from solver.arrivals import Fit, Length, Play
from solver.rounds import Round
from solver.situation import Question

WALL = tuple(tile for tile in KINDS for _ in range(tile.copies))
# Odds that differ from what passes are chosen by.
FIT = Fit(
    Play((Length(14, 9, 0.75), Length(26, 0, 0.25)), (7, 5, 4, 2, 1, 0, 0)),
    tuple(Play((Length(draws, 8, 1.0),), (6, 4, 3, 3, 1, -1, -3)) for draws in (28, 24, 20, 22)),
    games=100,
    error=0.02,
)


@cache
def card(name: str) -> Card:
    """Return a practice card, the same object every time."""
    return shipped_card(name)


def random_rack(rnd: random.Random, size: int = 14) -> Rack:
    """Return a rack dealt from a whole set."""
    return Rack(tuple(rnd.sample(WALL, size)))


def question(rack: Rack | str, name: str = "small", **more: object) -> Question:
    """Return a question about a rack: first right, three tiles, unless told otherwise."""
    held = parse_rack(rack) if isinstance(rack, str) else rack
    settings: dict[str, object] = {"round": Round.FIRST_RIGHT, **more}
    return Question(card(name), held, **settings)
