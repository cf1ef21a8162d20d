"""Prices: what is counted before is what is then done."""

import random
from dataclasses import replace

import pytest

from patterns.rack import Rack
from solver.deals import DealWish, Difficulty
from solver.passes import PassTable
from solver.plan import plan
from solver.price import advising, dealing, planning, valuing, voting
from solver.rounds import Round
from tests.solver.played import question, random_rack


@pytest.fixture
def spent(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """The price of each table that is made, by what was valued for it."""
    prices: list[float] = []
    real = PassTable.of.__func__

    def watched(*args: object, **members: object) -> PassTable:
        table = real(PassTable, *args, **members)
        losses = table.losses or real(PassTable, *args).losses
        targets = sum(len(block.rows) for block in losses)
        prices.append(3_000 + 5 * targets + 0.5 * sum(len(block.reach) for block in losses))
        return table

    monkeypatch.setattr(PassTable, "of", watched)
    return prices


@pytest.mark.parametrize("seed", range(4))
def test_a_table_costs_what_is_valued_for_it(spent: list[float], seed: int) -> None:
    asked = question(random_rack(random.Random(seed)))
    PassTable.of(asked)
    # Copies of a kind go lower ones first, so of a pair that serves a target there are fewer losses.
    assert spent[0] <= valuing(asked).units <= 1.5 * spent[0]


def test_a_plan_costs_the_tables_of_its_rounds(spent: list[float]) -> None:
    asked = question(Rack(random_rack(random.Random(3)).tiles))
    price = planning(asked, 3).units
    plan(asked, 3)
    assert len(spent) == 3
    assert sum(spent) <= price <= 1.5 * sum(spent) + 30_000


def test_what_is_done_more_often_costs_so_often() -> None:
    asked = question(random_rack(random.Random(1)))
    assert voting(asked, 100).units == pytest.approx(302 * valuing(asked).units)
    assert advising(replace(asked, round=Round.COURTESY)).units > 2 * advising(asked).units
    wish = DealWish(asked.card, 1, 5)
    assert dealing(replace(wish, count=10)).units == pytest.approx(2 * dealing(wish).units)
    close = replace(wish, difficulty=Difficulty.CLOSE)
    assert dealing(close).units == pytest.approx(40 * dealing(wish).units)
