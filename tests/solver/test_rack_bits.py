import random

import numpy as np

from patterns.rack import Rack
from patterns.tiles import KINDS, Tile
from solver.rack_bits import RackBits
from solver.situation import counts_of
from tests.solver.racks import random_rack

RACKS = [random_rack(random.Random(seed)) for seed in range(50)] + [
    Rack((Tile.JOKER,) * 8 + (Tile.FLOWER,) * 6),
    Rack(KINDS[:14]),
    Rack((Tile.B1,) * 4 + (Tile.B2,) * 4 + (Tile.B3,) * 4 + (Tile.WHITE,) * 2),
]


def bits_of(rack: Rack) -> RackBits:
    return RackBits.of(counts_of(rack.tiles)[:35])


def test_one_bit_a_natural_in_order_of_kinds() -> None:
    for rack in RACKS:
        bits = bits_of(rack)
        naturals = [tile for tile in rack.tiles if tile is not Tile.JOKER]
        assert bits.size == len(naturals)
        assert [t for t, n in zip(bits.kinds, bits.counts, strict=True) for _ in range(n)] == naturals
        every = [bits.bit(kind, c) for kind, n in enumerate(bits.counts) for c in range(1, n + 1)]
        assert every == list(range(bits.size))
        assert [KINDS[position] for position in bits.positions] == list(bits.kinds)


def test_up_to_is_the_first_copies() -> None:
    for rack in RACKS:
        bits = bits_of(rack)
        for kind, count in enumerate(bits.counts):
            for copies in range(count + 1):
                assert bits.up_to(kind, copies) == sum(1 << bits.bit(kind, c) for c in range(1, copies + 1))


def test_the_thermometer_is_up_to_and_stops_at_what_is_held() -> None:
    for rack in RACKS:
        bits = bits_of(rack)
        assert bits.thermometer.dtype == np.uint32
        assert bits.thermometer.shape == (len(bits.kinds), max(bits.counts) + 1)
        for kind, count in enumerate(bits.counts):
            expected = [bits.up_to(kind, min(copies, count)) for copies in range(max(bits.counts) + 1)]
            assert bits.thermometer[kind].tolist() == expected


def test_a_rack_of_nothing_but_jokers_has_no_bits() -> None:
    bits = RackBits.of(np.zeros(35, np.int8))
    assert bits.size == 0
    assert bits.kinds == ()
    assert bits.thermometer.shape == (0, 1)
