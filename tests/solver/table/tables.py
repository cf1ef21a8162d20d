"""Tables made by hand, plain recounts to hold play against, and games watched move by move."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from patterns.card import Card, Target
from patterns.card_file import card_from_toml
from patterns.rack import parse_tiles
from patterns.tiles import KINDS
from solver.situation import counts_of, tables_of
from solver.table import game as play
from solver.table.aim import JOKER, Aim
from solver.table.game import Game, Shown, Table, play_game
from solver.table.players import Careful
from tests.solver.played import own
from tests.solver.table.rivals import Nearest, RandomLegal

COPIES = np.array([tile.copies for tile in KINDS])
# One pair and three groups of four, of a wind, a dragon, another wind and flowers.
KONGS = "south*2 red*4 east*4 flower*4"
# A pair of flowers, and ranks whose steps double over three suits.
STEPS = "flower*2 1bam*4 2crak*4 4dot*4"


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


def table_of(card: Card, racks: Sequence[str], wall: str = "") -> Table:
    """Return a table at East's first discard; what is neither in racks nor wall is out of the game."""
    tiles = [tile.position for tile in reversed(parse_tiles(wall))]
    return Table(tables_of(card), [aim_of(card, rack) for rack in racks], tiles)


def position(text: str) -> int:
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


@dataclass
class Watch:
    game: Game
    table: Table
    turns: list[int]
    moves: Counter[str]


def _picture(table: Table) -> tuple[object, ...]:
    shown = [[(group.kind, group.naturals, group.jokers) for group in groups] for groups in table.shown]
    return [aim.held.tolist() for aim in table.aims], list(table.wall), list(table.discards), shown


def _count_again(table: Table) -> None:
    """Hold every book a seat keeps against what lies on the table."""
    held = sum(aim.held for aim in table.aims)
    assert (held + np.bincount([*table.wall, *table.discards], minlength=len(KINDS)) == COPIES).all()
    assert table.drawn == 99 - len(table.wall)
    for seat, aim in enumerate(table.aims):
        free_of(aim, table.shown[seat])
        for book in (aim.held, aim.unseen, aim.elsewhere):
            assert book.min() >= 0
        locked, visible = (np.zeros(len(KINDS), np.int64) for _ in range(2))
        for owner, groups in enumerate(table.shown):
            book = locked if owner == seat else visible
            for group in groups:
                assert group.naturals >= 1 and group.jokers >= 0 and group.kind != JOKER
                book[group.kind] += group.naturals
                book[JOKER] += group.jokers
        assert (aim.locked == locked).all()
        visible += np.bincount(table.discards, minlength=len(KINDS))
        assert (aim.held + aim.unseen + aim.elsewhere + visible == COPIES).all()


def watch_game(card: Card, number: int) -> Watch:
    """Play one game; every move is checked as it is made."""
    turns: list[int] = []
    moves: Counter[str] = Counter()
    real_discard, real_claim, real_exchange = play._discard, play._claim, play._exchange_jokers
    tables: list[Table] = []

    def begin(table: Table) -> None:
        tables.append(table)
        _count_again(table)

    def discard(table: Table, seat: int) -> int:
        aim, before = table.aims[seat], free_of(table.aims[seat], table.shown[seat])
        kind = real_discard(table, seat)
        turns.append(seat)
        assert before[kind] > 0, "a tile of a shown group was discarded"
        assert kind != JOKER or not any(before[other] for other in range(JOKER))
        assert [int(each.held.sum()) for each in table.aims] == [13] * 4
        assert table.discards[-1] == kind and aim.held[kind] >= 0
        _count_again(table)
        return kind

    def claim(table: Table, seat: int, kind: int) -> bool:
        before, aim, free = _picture(table), table.aims[seat], free_of(table.aims[seat], table.shown[seat])
        was_open = aim.open.copy()
        if not real_claim(table, seat, kind):
            assert _picture(table) == before
            return False
        moves["claims"] += 1
        group = table.shown[seat][-1]
        now = free_of(aim, table.shown[seat])
        assert group.kind == kind != JOKER and group.naturals >= 1 and group.naturals + group.jokers >= 3
        assert now[kind] == free[kind] + 1 - group.naturals and now[JOKER] == free[JOKER] - group.jokers
        assert aim.held.sum() == 14 and aim.open.any() and not (aim.open & ~was_open).any()
        for target, is_open in enumerate(aim.open):
            fits = tiles_away(table.tables.targets[target], now, table.shown[seat]) is not None
            assert is_open == (was_open[target] and fits and not table.tables.concealed[target])
        _count_again(table)
        return True

    def exchange(table: Table, seat: int) -> None:
        free = free_of(table.aims[seat], table.shown[seat])
        sizes = [[(g.kind, g.naturals + g.jokers) for g in groups] for groups in table.shown]
        jokers = [[g.jokers for g in groups] for groups in table.shown]
        held = [each.held.sum() for each in table.aims]
        real_exchange(table, seat)
        now = free_of(table.aims[seat], table.shown[seat])
        assert sizes == [[(g.kind, g.naturals + g.jokers) for g in groups] for groups in table.shown]
        assert held == [each.held.sum() for each in table.aims]
        paid: Counter[int] = Counter()
        for groups, had in zip(table.shown, jokers, strict=True):
            for group, count in zip(groups, had, strict=True):
                assert group.jokers <= count
                paid[group.kind] += count - group.jokers
        assert now[JOKER] - free[JOKER] == paid.total()
        assert all(free[kind] - now[kind] == paid[kind] for kind in range(JOKER))
        moves["exchanges"] += paid.total()
        _count_again(table)

    with pytest.MonkeyPatch.context() as patch:
        for name, watched in (("_discard", discard), ("_claim", claim), ("_exchange_jokers", exchange)):
            patch.setattr(play, name, watched)
        rules = [Careful(), Nearest(), RandomLegal(), Careful()]
        game = play_game(card, rules, 5, number, before_play=begin)
    return Watch(game, tables[0], turns, moves)


@cache
def watched(games: int) -> tuple[Watch, ...]:
    """Return so many watched games with a player's own card."""
    return tuple(watch_game(own(), number) for number in range(games))
