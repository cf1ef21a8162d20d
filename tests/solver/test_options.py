import random
from collections import Counter

import numpy as np
import pytest

from patterns.rack import Rack
from patterns.tiles import KINDS, Tile
from solver.card_tables import tables_of
from solver.options import Options, _pruned, options_of
from solver.question import Question
from solver.rack_bits import RackBits
from solver.rounds import Round
from solver.situation import counts_of
from tests.solver.enumeration import Enumeration, enumerate_passes, mask_of
from tests.solver.racks import card, question, random_rack

EDGE_RACKS = (
    Rack((Tile.JOKER,) * 8 + (Tile.FLOWER,) * 6),
    Rack((Tile.JOKER,) * 8 + KINDS[:5]),
    Rack(tuple(tile for tile in KINDS[:4] for _ in range(4))[:14]),
    Rack(KINDS[10:24]),
)


def options_for(asked: Question, counts: np.ndarray | None = None) -> tuple[RackBits, Options]:
    situation = asked.situation
    bits = RackBits.of(situation.held)
    every = np.ones(len(asked.card.hands), bool) if counts is None else counts
    return bits, options_of(situation, tables_of(asked.card), bits, asked.tiles_given, every)


def by_options(bits: RackBits, options: Options, passed: tuple[Tile, ...]) -> np.ndarray:
    reach = options.floor.copy()
    left = (options.forbidden & np.uint32(mask_of(bits, passed))) == 0
    np.maximum.at(reach, options.hand[left], options.reach[left])
    return reach


def check(found: Enumeration, bits: RackBits, options: Options) -> None:
    assert np.all(found.reach >= options.floor * (1 - 1e-12))
    for passed, reach in zip(found.passes, found.reach, strict=True):
        assert by_options(bits, options, passed) == pytest.approx(reach, rel=1e-12, abs=0)


@pytest.mark.parametrize(("name", "racks"), [("small", 25), ("full", 8)])
def test_options_give_the_best_target_after_every_pass_and_floors_are_bounds(name: str, racks: int) -> None:
    rnd = random.Random(name)
    for _ in range(racks):
        asked = question(random_rack(rnd, rnd.choice((13, 14))), name)
        check(enumerate_passes(asked), *options_for(asked))


@pytest.mark.parametrize("give", range(4))
@pytest.mark.parametrize("rack", EDGE_RACKS)
def test_odd_racks_and_every_number_of_tiles(rack: Rack, give: int) -> None:
    asked = question(rack, round=Round.COURTESY, give=give)
    check(enumerate_passes(asked), *options_for(asked))


def test_giving_nothing_leaves_floors_only() -> None:
    asked = question(random_rack(random.Random(1)), round=Round.COURTESY, give=0)
    _, options = options_for(asked)
    assert len(options.hand) == 0
    assert options.floor == pytest.approx(enumerate_passes(asked).reach[0])


def test_hands_that_do_not_count_have_neither_options_nor_floor() -> None:
    asked = question(random_rack(random.Random(2)))
    counts = np.arange(len(asked.card.hands)) % 2 == 0
    _, some = options_for(asked, counts)
    _, every = options_for(asked)
    assert not set(some.hand.tolist()) & set(np.flatnonzero(~counts).tolist())
    assert not some.floor[~counts].any()
    assert np.array_equal(some.floor[counts], every.floor[counts])
    assert np.count_nonzero(counts[every.hand]) == len(some.hand)


def test_what_is_left_is_sorted_above_the_floor_and_undominated() -> None:
    for seed in range(10):
        _, options = options_for(question(random_rack(random.Random(seed))))
        assert np.all(np.diff(options.hand) >= 0)
        assert np.all(options.reach > options.floor[options.hand])
        assert len(options.hand) < options.unpruned
        for hand in set(options.hand.tolist()):
            of_hand = np.flatnonzero(options.hand == hand)
            forbidden, reach = options.forbidden[of_hand], options.reach[of_hand]
            assert np.all(np.diff(reach) <= 0)
            subset = (forbidden[None, :] & ~forbidden[:, None]) == 0
            better = reach[None, :] >= reach[:, None]
            assert not (subset & better & ~np.eye(len(of_hand), dtype=bool)).any()


def test_pruning_is_exact_on_random_options() -> None:
    """What hands are worth after every pass of seven bits is the same before and after."""
    rng = np.random.default_rng(5)
    masks = np.arange(128, dtype=np.uint32)
    for _ in range(60):
        n = int(rng.integers(1, 700))
        hand = rng.integers(0, 3, n).astype(np.int32)
        forbidden = rng.integers(0, 128, n).astype(np.uint32)
        reach = rng.integers(0, 12, n) / 12
        floor = rng.integers(0, 6, 3) / 12
        left = _pruned(hand, forbidden, reach, floor, n)
        for mask in masks:
            before, after = floor.copy(), floor.copy()
            for into, h, f, r in (
                (before, hand, forbidden, reach),
                (after, left.hand, left.forbidden, left.reach),
            ):
                np.maximum.at(into, h[(f & mask) == 0], r[(f & mask) == 0])
            assert np.array_equal(before, after)


def test_many_options_of_one_hand_are_pruned_in_blocks() -> None:
    """Nested sets, each worth less than the next smaller one, across the block size: one survives."""
    forbidden = np.array([(1 << (i // 60)) - 1 for i in range(1500)], np.uint32)
    reach = np.linspace(0.9, 0.1, 1500)
    left = _pruned(np.zeros(1500, np.int32), forbidden, reach, np.zeros(1), 1500)
    assert left.forbidden.tolist() == [0]


def test_options_when_only_some_tiles_may_go() -> None:
    """Only the bits of those tiles are named, and what hands keep is that after every pass of them."""
    rnd = random.Random(6)
    for _ in range(10):
        asked = question(random_rack(rnd))
        found, tables = enumerate_passes(asked), tables_of(asked.card)
        may = Counter(rnd.sample([tile for tile in asked.rack.tiles if tile is not Tile.JOKER], 8))
        bits = RackBits.of(counts_of(may.elements())[:35])
        options = options_of(asked.situation, tables, bits, 3, np.ones(len(asked.card.hands), bool))
        assert not (options.forbidden >> np.uint32(8)).any()
        left = [number for number, passed in enumerate(found.passes) if Counter(passed) <= may]
        assert 20 < len(left) < len(found.passes)
        for number in left:
            ours = by_options(bits, options, found.passes[number])
            assert ours == pytest.approx(found.reach[number], rel=1e-12, abs=0)


def test_the_full_card_makes_more_options_than_the_small_one() -> None:
    rack = random_rack(random.Random(7))
    sizes = [len(options_for(question(rack, name))[1].hand) for name in ("small", "full")]
    assert 0 < sizes[0] < sizes[1]
    assert len(card("full").hands) > len(card("small").hands)
