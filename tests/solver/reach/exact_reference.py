"""Reach in independent ways, for tests: by counting arrivals, and by exact fractions; and random demands.

Neither way uses anything of the solver. A demand is a list of (unseen, kept, plain, grouped), one entry a
kind.
"""

import random
from collections import Counter
from fractions import Fraction
from functools import cache
from itertools import combinations
from math import comb

import numpy as np

from solver.arrivals import Arrivals
from solver.reach.counting import Outlook
from solver.reach.evaluate import Demands, missing, reach_of
from solver.situation import CardTables, Situation

Kind = tuple[int, int, int, int]
JOKER = -1


def _can_fill(slots: list[tuple[int, bool]], tiles: list[tuple[int, bool]]) -> bool:
    """Match every slot (kind, takes jokers and claims) to a tile (kind, was claimed): augmenting paths."""
    holder: dict[int, int] = {}

    def fits(slot: int, tile: int) -> bool:
        (wanted, grouped), (kind, claimed) = slots[slot], tiles[tile]
        if kind == JOKER:
            return grouped
        return kind == wanted and (grouped or not claimed)

    def place(slot: int, tried: set[int]) -> bool:
        for tile in range(len(tiles)):
            if tile not in tried and fits(slot, tile):
                tried.add(tile)
                if tile not in holder or place(holder[tile], tried):
                    holder[tile] = slot
                    return True
        return False

    return all(place(slot, set()) for slot in range(len(slots)))


def reach_by_counting(
    kinds: list[Kind], jokers: int, jokers_held: int, arrivals: tuple[int, int, int], concealed: bool
) -> Fraction:
    """Deal every set of exchanged tiles, draws and claims from the pool and try to fill the target.

    Tiles not wanted belong to a kind too; arrivals are (charleston, draws, claims), no claims if concealed.
    """
    charleston, draws, claims = arrivals
    pool = [kind for kind, (unseen, *_) in enumerate(kinds) for _ in range(unseen)]
    slots = [(kind, False) for kind, (_, _, plain, _) in enumerate(kinds) for _ in range(plain)]
    slots += [(kind, True) for kind, (*_, grouped) in enumerate(kinds) for _ in range(grouped)]
    held = [(kind, False) for kind, (_, kept, *_) in enumerate(kinds) for _ in range(kept)]
    held += [(JOKER, False)] * jokers_held

    @cache
    def complete(own: tuple[int, ...], claimed: tuple[int, ...]) -> bool:
        tiles = held + [(kind, False) for kind in own]
        if not concealed:
            tiles += [(kind, True) for kind in claimed]
        return _can_fill(slots, tiles)

    chance = Fraction(0)
    places = range(len(pool))
    for exchanged in combinations(places, charleston):
        wall = [*(place for place in places if place not in exchanged), *[JOKER] * jokers]
        for drawn in combinations(range(len(wall)), draws):
            taken = {*exchanged, *(wall[index] for index in drawn)}
            own = tuple(sorted([pool[i] for i in exchanged] + _kinds(pool, wall, drawn)))
            others = [pool[place] for place in places if place not in taken]
            outcomes = Counter(combinations(others, claims))
            good = sum(ways for claimed, ways in outcomes.items() if complete(own, claimed))
            chance += Fraction(good, outcomes.total())
    return chance / comb(len(pool), charleston) / comb(len(pool) - charleston + jokers, draws)


def _kinds(pool: list[int], wall: list[int], drawn: tuple[int, ...]) -> list[int]:
    return [JOKER if wall[index] == JOKER else pool[wall[index]] for index in drawn]


def reach_by_fractions(
    kinds: list[Kind], jokers: int, jokers_held: int, arrivals: tuple[int, int, int], concealed: bool
) -> Fraction:
    """Sum over how many of each wanted kind come as own tiles and as claims; arguments as above."""
    charleston, draws, claims = arrivals
    claims = 0 if concealed else claims
    ways: dict[tuple[int, int, int], int] = {(0, 0, 0): 1}
    others = 0
    for unseen, kept, plain, grouped in kinds:
        if kept >= plain + grouped:
            others += unseen
            continue
        grown: Counter[tuple[int, int, int]] = Counter()
        for x in range(unseen + 1):
            for y in range(min(unseen - x, claims) + 1):
                if kept + x < plain:
                    continue
                shortage = max(0, grouped - (kept + x - plain) - y)
                for (x0, y0, u0), ways0 in ways.items():
                    if u0 + shortage <= jokers + jokers_held:
                        grown[x0 + x, y0 + y, u0 + shortage] += ways0 * comb(unseen, x) * comb(unseen - x, y)
        ways = grown
    naturals = sum(unseen for unseen, *_ in kinds)
    chance = Fraction(0)
    for joker in range(min(jokers, draws) + 1):
        own = charleston + draws - joker
        deals = comb(naturals - charleston + jokers, draws)
        weight = Fraction(comb(jokers, joker) * comb(naturals - charleston, draws - joker), deals)
        if not weight:
            continue
        good = sum(
            number * comb(others, own - x) * comb(others - (own - x), claims - y)
            for (x, y, u), number in ways.items()
            if u <= jokers_held + joker and x <= own and y <= claims and own - x <= others
        )
        chance += weight * Fraction(good, comb(naturals, own) * comb(naturals - own, claims))
    return chance


ACCURACY = Fraction(1, 10**12)


def agrees(ours: float, exact: Fraction) -> bool:
    """Return whether a value is the exact one, but for rounding."""
    return abs(Fraction(ours) - exact) <= ACCURACY * exact


def demand_of(situation: Situation, tables: CardTables, row: int) -> tuple[list[Kind], int, int, bool]:
    """Return a target of a card as the references write it: kinds, jokers, jokers held, concealed."""
    columns = (situation.unseen[:35], situation.held, tables.plain[row], tables.grouped[row])
    kinds: list[Kind] = [tuple(map(int, kind)) for kind in zip(*columns, strict=True)]
    outlook = situation.outlook
    return kinds, outlook.jokers, outlook.jokers_held, bool(tables.concealed[row])


def columns(kinds: list[Kind]) -> list[np.ndarray]:
    """Return (35,) arrays: unseen, kept, plain, grouped; kinds beyond those given are absent."""
    padded = [*kinds, *[(0, 0, 0, 0)] * (35 - len(kinds))]
    return [np.array(column, np.int8) for column in zip(*padded, strict=True)]


def reach_under(kinds: list[Kind], jokers: int, jokers_held: int, coming: Arrivals, concealed: bool) -> float:
    """Return what the solver says for any arrivals; the other arguments are those of the references."""
    unseen, kept, plain, grouped = columns(kinds)
    lack = missing(plain[None], grouped[None], kept)
    outlook = Outlook(int(unseen.sum()), jokers, jokers_held, coming)
    return float(reach_of(Demands.of(lack, np.array([concealed]), unseen), outlook, unseen)[0])


Case = tuple[list[Kind], int, int, tuple[int, int, int], bool]


def tiny_case(rnd: random.Random) -> Case:
    """Return a demand on a pool of at most ten tiles, small enough to count every arrival."""
    kinds: list[Kind] = []
    for _ in range(rnd.randint(1, 3)):
        plain, grouped = rnd.choice([(1, 0), (2, 0), (0, 1), (0, 2), (0, 3), (0, 4), (1, 2), (2, 3), (1, 3)])
        kinds.append((rnd.randint(0, 3), rnd.randint(0, plain + grouped), plain, grouped))
    kinds.append((rnd.randint(0, 3), rnd.randint(0, 2), 0, 0))
    naturals = sum(unseen for unseen, *_ in kinds)
    jokers = rnd.randint(0, 2)
    charleston = rnd.randint(0, min(2, naturals))
    draws = rnd.randint(0, min(3, naturals - charleston))
    claims = rnd.randint(0, min(3, naturals - charleston - draws))
    return kinds, jokers, rnd.randint(0, 2), (charleston, draws, claims), rnd.random() < 0.25


def full_case(rnd: random.Random) -> Case:
    """Return a demand on what is left of a whole set, with arrivals of real size."""
    kinds: list[Kind] = []
    for copies in [4] * 34 + [8]:
        plain, grouped = (0, 0)
        if rnd.random() < 0.09:
            plain, grouped = rnd.choice([(1, 0), (2, 0), (0, 3), (0, 4), (0, 5), (1, 3), (2, 3), (0, 6)])
        kept = rnd.choice((0, 0, 0, 1, 2))
        kinds.append((rnd.randint(0, copies - kept), kept, plain, grouped))
    jokers = rnd.randint(0, 8)
    naturals = sum(unseen for unseen, *_ in kinds)
    charleston, draws, claims = rnd.choice((0, 3, 6, 9)), rnd.randint(0, 20), rnd.randint(0, 22)
    claims = min(claims, naturals - charleston - draws)
    return kinds, jokers, rnd.randint(0, 8 - jokers), (charleston, draws, claims), rnd.random() < 0.25
