from dataclasses import replace

import numpy as np
import pytest

from patterns.rack import Pile
from patterns.tiles import Tile
from solver import rescore
from solver.arrivals import after_the_exchanges
from solver.card_tables import CardTables
from solver.rescore import Score
from solver.situation import Situation
from solver.table import players as settled
from solver.table.players import Alone, one_target
from tests.solver.played import rack
from tests.solver.racks import card

RACK = rack("2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J")


def situation() -> Situation:
    return Situation(Pile(RACK.tiles), (), after_the_exchanges())


@pytest.mark.parametrize("rank", [0, 3])
def test_the_target_is_the_best_of_the_hand_of_that_rank(rank: int) -> None:
    settling = Alone(None, rank)
    settling._settle(card("small"), situation(), (Tile.EAST,))
    scored = rescore.score(
        situation(), settled.tables_of(card("small")), np.ones(len(card("small").hands)), [Tile.EAST]
    )
    hand = np.argsort(-scored.reach)[rank]
    assert settling.target == scored.target[hand]


def test_hands_that_differ_by_the_last_digit_rank_in_the_order_of_the_card(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def level(at: Situation, tables: CardTables, *rest: object) -> Score:
        found = rescore.score(at, tables, *rest)  # type: ignore[arg-type]
        reach = np.full_like(found.reach, 0.5)
        reach[2:] = np.nextafter(0.5, 1)
        return replace(found, reach=reach)

    monkeypatch.setattr(settled, "score", level)
    settling = Alone(None, 1)
    settling._settle(card("small"), situation(), ())
    tables = settled.tables_of(card("small"))
    assert settling.target is not None
    assert tables.hand[settling.target] == 1


def test_a_card_of_one_target_has_that_alone() -> None:
    whole = card("small")
    target = whole.hands[2].targets[-1]
    alone = one_target(whole, target, 2)
    assert [hand.targets for hand in alone.hands] == [(target,)]
    assert alone.hands[0].name == whole.hands[2].name
