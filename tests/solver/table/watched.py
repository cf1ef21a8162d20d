"""Games played under watch: after every move everything is counted again from what lies where."""

from collections import Counter
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from patterns.card import Card
from patterns.card_file import shipped_card
from patterns.tiles import KINDS
from solver.table import game as play
from solver.table.aim import JOKER
from solver.table.game import Game, Table, play_game
from solver.table.players import Careful, Nearest, RandomLegal
from tests.solver.table.tables import COPIES, free_of, tiles_away

RULES = [Careful(), Nearest(), RandomLegal(), Careful()]


@dataclass
class Watch:
    """What was seen in one game."""

    game: Game
    table: Table
    turns: list[int]
    moves: Counter[str]


def picture(table: Table) -> tuple[object, ...]:
    """Return where every tile lies."""
    shown = [[(group.kind, group.naturals, group.jokers) for group in groups] for groups in table.shown]
    return [aim.held.tolist() for aim in table.aims], list(table.wall), list(table.discards), shown


def count_again(table: Table) -> None:
    """Hold every book a seat keeps against what lies on the table."""
    held = sum(aim.held for aim in table.aims)
    assert (held + np.bincount([*table.wall, *table.discards], minlength=len(KINDS)) == COPIES).all()
    assert table.drawn == sum(table.draws) == 99 - len(table.wall)
    for seat, aim in enumerate(table.aims):
        free_of(aim, table.shown[seat])
        for book in (aim.held, aim.unseen, aim.elsewhere):
            assert book.min() >= 0
        locked, visible = (np.zeros(len(KINDS), np.int64) for _ in range(2))
        for owner, groups in enumerate(table.shown):
            for group in groups:
                assert group.naturals >= 1 and group.jokers >= 0 and group.kind != JOKER
                for book in (locked,) if owner == seat else (visible,):
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
    real_start = play.start_table
    tables: list[Table] = []

    def start(*args: object) -> Table:
        tables.append(real_start(*args))  # type: ignore[arg-type]
        count_again(tables[0])
        return tables[0]

    def discard(table: Table, seat: int) -> int:
        aim, before = table.aims[seat], free_of(table.aims[seat], table.shown[seat])
        kind = real_discard(table, seat)
        turns.append(seat)
        assert before[kind] > 0, "a tile of a shown group was discarded"
        assert kind != JOKER or not any(before[other] for other in range(JOKER))
        assert [int(each.held.sum()) for each in table.aims] == [13] * 4
        assert table.discards[-1] == kind and aim.held[kind] >= 0
        count_again(table)
        return kind

    def claim(table: Table, seat: int, kind: int) -> bool:
        before, aim, free = picture(table), table.aims[seat], free_of(table.aims[seat], table.shown[seat])
        was_open = aim.open.copy()
        if not real_claim(table, seat, kind):
            assert picture(table) == before
            return False
        moves["claims"] += 1
        assert kind != JOKER
        group = table.shown[seat][-1]
        now = free_of(aim, table.shown[seat])
        assert group.kind == kind and group.naturals >= 1 and group.naturals + group.jokers >= 3
        assert now[kind] == free[kind] + 1 - group.naturals and now[JOKER] == free[JOKER] - group.jokers
        assert aim.held.sum() == 14 and aim.open.any() and not (aim.open & ~was_open).any()
        for target, is_open in enumerate(aim.open):
            fits = tiles_away(table.tables.targets[target], now, table.shown[seat]) is not None
            assert is_open == (was_open[target] and fits and not table.tables.concealed[target])
        count_again(table)
        return True

    def exchange(table: Table, seat: int) -> None:
        free = free_of(table.aims[seat], table.shown[seat])
        sizes = [[(g.kind, g.naturals + g.jokers) for g in groups] for groups in table.shown]
        jokers = [[g.jokers for g in groups] for groups in table.shown]
        others = [each.held.sum() for each in table.aims]
        real_exchange(table, seat)
        now = free_of(table.aims[seat], table.shown[seat])
        assert sizes == [[(g.kind, g.naturals + g.jokers) for g in groups] for groups in table.shown]
        assert others == [each.held.sum() for each in table.aims]
        paid: Counter[int] = Counter()
        for groups, had in zip(table.shown, jokers, strict=True):
            for group, count in zip(groups, had, strict=True):
                assert group.jokers <= count
                paid[group.kind] += count - group.jokers
        assert now[JOKER] - free[JOKER] == paid.total()
        assert all(free[kind] - now[kind] == paid[kind] for kind in range(JOKER))
        moves["exchanges"] += paid.total()
        count_again(table)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(play, "_discard", discard)
        patch.setattr(play, "_claim", claim)
        patch.setattr(play, "_exchange_jokers", exchange)
        patch.setattr("solver.table.game.start_table", start)
        game = play_game(card, RULES, 5, number, check=True)
    return Watch(game, tables[0], turns, moves)


@cache
def watched(name: str, games: int) -> tuple[Watch, ...]:
    """Return so many watched games with a practice card."""
    card = shipped_card(name)
    return tuple(watch_game(card, number) for number in range(games))
