"""The table of all passes against scoring each straight from what its kept tiles leave lacking."""

import random
import tracemalloc
from collections import Counter

import numpy as np
import pytest

from patterns.card_file import read_draft
from patterns.rack import Pile, Rack
from patterns.tiles import KINDS, Tile
from solver.advice import advise
from solver.arrivals import Arrivals
from solver.limits import Choice, Limits
from solver.passes import PassTable, RackBits, score
from solver.plan import plan
from solver.rounds import Drill, Round
from solver.situation import Question, Situation, counts_of
from tests.benchmarks.hostile import SPREAD, singles
from tests.solver.enumeration import every_pass
from tests.solver.played import WALL, card, own, question, random_rack

RACKS = [random_rack(random.Random(seed), 13 + seed % 2) for seed in range(12)] + [
    Rack((Tile.JOKER,) * 8 + (Tile.FLOWER,) * 6),
    Rack(KINDS[:14]),
    Rack((Tile.B1,) * 4 + (Tile.B2,) * 4 + (Tile.B3,) * 4 + (Tile.WHITE,) * 2),
]


@pytest.mark.parametrize("size", [0, 1, 2, 3, 6])
def test_the_passes_are_all_there_are_in_the_order_of_tiles(size: int) -> None:
    for rack in RACKS:
        bits = RackBits.of(counts_of(rack.tiles)[:35])
        masks = bits.passes(size)
        assert [bits.tiles(int(mask)) for mask in masks] == every_pass(rack.tiles, size)
        assert [bits.mask_of(passed) for passed in every_pass(rack.tiles, size)] == masks.tolist()


def check(table: PassTable, every: int = 1) -> None:
    """Check every so many of the passes: reach, targets, sums and worth in units."""
    places = range(0, len(table.masks), every)
    passes = [table.tiles(index) for index in places]
    whole, *straight = (
        score(table.situation, table.tables, table.weights, passed, table.objective)
        for passed in [(), *passes]
    )
    for right, ours in zip([whole, *straight], [table.before, *map(table.score, places)], strict=True):
        assert ours.reach == pytest.approx(right.reach, rel=1e-12)
        assert ours.expected == pytest.approx(right.expected, rel=1e-12)
        assert ours.strength == pytest.approx(right.strength, rel=1e-12)
        assert np.array_equal(ours.target[right.reach > 0], right.target[right.reach > 0])
    for index, right in zip(places, straight, strict=True):
        assert table.reach[:, index] == pytest.approx(right.reach, rel=1e-12)
        assert table.expected[index] == pytest.approx(right.expected, rel=1e-12)
        assert table.strength[index] == pytest.approx(right.strength, rel=1e-12)
        assert table.units[index] * table.unit == pytest.approx(right.strength, abs=table.resolution)
        assert table.index_of(right.passed) == index


QUESTIONS = {
    "first right": question(random_rack(random.Random(1)), "full"),
    "thirteen tiles": question(random_rack(random.Random(2), 13), "small", round=Round.SECOND_ACROSS),
    "courtesy of one": question(random_rack(random.Random(3)), "small", round=Round.COURTESY, give=1),
    "all blind": question(random_rack(random.Random(4)), "small", round=Round.FIRST_LEFT, give=0),
    "stated": question(random_rack(random.Random(5)), "small", arrivals=Arrivals.of(5, 10, 8)),
    "drill": question(random_rack(random.Random(6)), "small", drill=Drill(2, 20)),
    "some hands": question(
        random_rack(random.Random(7)),
        "full",
        limits=Limits.of(without=Choice(families=card("full").families[:3]), weights=()),
    ),
    "fours": question("1111b 2222b 3333b NN"),
    "jokers": question("JJJJJJJJ FFFFFF"),
    "pairs": question("NN EE WW 11b 22c 33d FF"),
    "own card": Question(own(), random_rack(random.Random(9)), Round.FIRST_RIGHT),
}


@pytest.mark.parametrize("name", QUESTIONS)
def test_every_pass_is_worth_what_it_is_scored(name: str) -> None:
    asked = QUESTIONS[name]
    check(PassTable.of(asked), 5 if asked.card is card("full") else 2)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(16))
def test_every_pass_of_many_racks_is_worth_what_it_is_scored(seed: int) -> None:
    rnd = random.Random(seed)
    check(PassTable.of(question(random_rack(rnd), rnd.choice(("small", "full")))))


def test_only_some_tiles_of_a_pile_may_go() -> None:
    """As in hindsight: what came in stays, though more of a kind are then held than may go."""
    rnd = random.Random(11)
    tiles = rnd.sample(WALL, 17)
    rack, came = Rack(tuple(tiles[:14])), tuple(tiles[14:])
    kinds = sorted({tile for tile in rack.tiles if tile is not Tile.JOKER}, key=lambda tile: tile.position)
    for more in (came, tuple(kinds[:3])):
        pile = Pile((*rack.tiles, *more))
        if max(count - tile.copies for tile, count in Counter(pile.tiles).items()) > 0:
            continue
        situation = Situation(pile, (), Arrivals.of(3, 16, 4))
        asked = Question(card("small"), rack, Round.FIRST_RIGHT)
        check(PassTable.of(asked, situation=situation), 7)


@pytest.mark.parametrize("seed", range(4))
def test_tiny_chances_are_told_apart_too(seed: int) -> None:
    """Nine tiles come in and no more: next to nothing, and yet one pass is worth more than another."""
    table = PassTable.of(question(random_rack(random.Random(seed)), "full", drill=Drill(3, 0)))
    assert 0 < table.strength.max() < 1e-5
    assert table.resolution <= 1e-10 * table.strength.max()
    assert len(set(table.units.tolist())) > 50


def test_the_order_is_by_worth_and_then_by_tiles() -> None:
    table = PassTable.of(question(random_rack(random.Random(1)), arrivals=Arrivals.of(0, 0, 0)))
    assert not table.units.any()
    assert list(table.ranked()) == list(range(len(table.masks)))
    table = PassTable.of(QUESTIONS["first right"])
    ranked = table.units[list(table.ranked())]
    assert (np.diff(ranked) <= 0).all() and ranked[0] > ranked[-1]


def test_a_pass_the_rack_does_not_hold_is_none_of_the_table() -> None:
    table = PassTable.of(question("NNE FF 1b 3c 5d 7b 9c 2d 4b J"))
    assert table.tiles(table.index_of((Tile.B1, Tile.NORTH, Tile.NORTH))) == (Tile.B1, Tile.NORTH, Tile.NORTH)
    for wrong in ((Tile.B1, Tile.NORTH), (Tile.NORTH,) * 3, (Tile.B1, Tile.B1, Tile.B1), (Tile.B2,) * 3):
        with pytest.raises(ValueError):
            table.index_of(wrong)


@pytest.mark.parametrize("losses", [1, 40, 700])
def test_blocks_of_any_size_make_the_same_table(monkeypatch: pytest.MonkeyPatch, losses: int) -> None:
    asked = QUESTIONS["thirteen tiles"]
    whole = PassTable.of(asked)
    monkeypatch.setattr("solver.passes._BLOCK_LOSSES", losses)
    table = PassTable.of(asked)
    assert len(table.losses) > len(whole.losses) == 1
    check(table, 9)
    assert table.units.tolist() == whole.units.tolist()
    # The model holds its own account of what each pass leaves against the table's.
    assert advise(asked).passed == whole.tiles(int(whole.order[0]))


def test_memory_is_bounded_whatever_the_card() -> None:
    """A plan on 600 targets of 4,096 losses each: valued at once, they took 150 MiB."""
    card_ = read_draft(singles(50)).card()
    asked = Question(card_, Rack(SPREAD), Round.FIRST_RIGHT)
    tracemalloc.start()
    assert len(plan(asked, 3).rounds) == 3
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 64 * 2**20
