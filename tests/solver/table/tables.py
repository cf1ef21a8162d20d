"""Seats and tables made by hand, and plain recounts to hold play against."""

from collections import Counter
from collections.abc import Iterable, Sequence

import numpy as np

from patterns.card import Card, Target
from patterns.card_file import card_from_toml
from patterns.rack import parse_tiles
from patterns.tiles import KINDS
from solver.card_tables import tables_of
from solver.situation import counts_of
from solver.table.aim import JOKER, Aim
from solver.table.game import Shown, Table

COPIES = np.array([tile.copies for tile in KINDS])


def card_of(*hands: str) -> Card:
    """Return a card of hands written as groups, concealed where a star leads."""
    entries = [
        f'[[hand]]\nname = "Hand {number}"\nfamily = "all"\ngroups = "{groups.lstrip("*")}"\n'
        + ("concealed = true\n" if groups.startswith("*") else "")
        for number, groups in enumerate(hands)
    ]
    return card_from_toml('[card]\nname = "Made"\n' + "".join(entries), "made")


def aim_of(card: Card, held: str, draws: int = 20) -> Aim:
    """Return the aim of a player who has seen only the tiles held."""
    counts = counts_of(parse_tiles(held)).astype(np.int64)
    return Aim(tables_of(card), counts, COPIES - counts, draws)


def table_of(card: Card, racks: Sequence[str], wall: str) -> Table:
    """Return a table at East's first discard; what is neither in racks nor wall is out of the game."""
    tiles = [tile.position for tile in reversed(parse_tiles(wall))]
    return Table(tables_of(card), [aim_of(card, rack) for rack in racks], tiles)


def position(text: str) -> int:
    """Return the position of one tile."""
    return parse_tiles(text)[0].position


def tiles_away(target: Target, free: Counter[int], shown: Iterable[Shown] = ()) -> int | None:
    """Count group by group what a target lacks, with groups shown as they lie; None if one does not fit."""
    groups = Counter((group.tile.position, group.count) for group in target.groups)
    for group in shown:
        key = (group.kind, group.naturals + group.jokers)
        if not groups[key]:
            return None
        groups[key] -= 1
    left, lack_plain, lack_grouped = Counter(free), 0, 0
    for kind, size in sorted(groups.elements(), key=lambda group: group[1]):
        used = min(left[kind], size)
        left[kind] -= used
        if size < 3:
            lack_plain += size - used
        else:
            lack_grouped += size - used
    return lack_plain + max(0, lack_grouped - free[JOKER])


def free_of(aim: Aim, shown: Iterable[Shown]) -> Counter[int]:
    """Return tiles held that are in no group shown."""
    free = Counter({kind: int(count) for kind, count in enumerate(aim.held)})
    for group in shown:
        free[group.kind] -= group.naturals
        free[JOKER] -= group.jokers
    assert min(free.values()) >= 0
    return free
