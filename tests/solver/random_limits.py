"""Random limits on a pass, for tests."""

import random

import numpy as np

from patterns.card import Card, Trait
from patterns.faults import FaultyInputError
from patterns.rack import Rack
from patterns.tiles import Tile
from solver.limits import AtLeast, Choice, Limits, hand_weights


def _choice(rnd: random.Random, card: Card) -> Choice:
    sort = rnd.choice(("families", "hands", "traits"))
    if sort == "families":
        return Choice(families=tuple(rnd.sample(card.families, 2)))
    if sort == "hands":
        return Choice(hands=tuple(hand.name for hand in rnd.sample(card.hands, 5)))
    return Choice(traits=tuple(rnd.sample(list(Trait), 2)))


def random_limits(rnd: random.Random, card: Card, rack: Rack) -> Limits:
    """Return one to four random limits, which may contradict but leave a hand that counts."""
    naturals = [tile for tile in rack.tiles if tile is not Tile.JOKER]
    settings: dict[str, object] = {}
    for part in rnd.sample(
        ["stay", "go", "only", "without", "weights", "pairs", "flowers", "neighbours", "hands", "families"],
        rnd.randint(1, 4),
    ):
        if part == "stay":
            settings["stay"] = tuple(rnd.sample(rack.tiles, rnd.randint(1, 6)))
        elif part == "go":
            settings["go"] = tuple(rnd.sample(naturals, rnd.randint(1, 2)))
        elif part in ("only", "without"):
            settings[part] = _choice(rnd, card)
        elif part == "weights":
            names = [hand.name for hand in rnd.sample(card.hands, 6)]
            settings["weights"] = tuple((name, rnd.choice((0.0, 0.5, 2.0, 7.25))) for name in names)
        elif part in ("pairs", "flowers", "neighbours"):
            settings[f"no_{part}"] = True
        else:
            wanted = AtLeast(rnd.randint(1, 5), float(np.round(10 ** rnd.uniform(-4, -0.7), 6)))
            settings[f"keep_{part}"] = wanted
    limits = Limits(**settings)
    try:
        hand_weights(card, limits)
    except FaultyInputError:
        return random_limits(rnd, card, rack)
    return limits
