from collections import Counter
from dataclasses import replace

import pytest

from patterns.tiles import DRAGONS, KINDS, WINDS, Tile
from solver.ahead import SHARES, Sort, incoming, sort_of, weights_of
from solver.arrivals import Arrivals
from solver.limits import Limits
from solver.question import Question
from solver.rounds import Drill, Round
from tests.solver.ahead.luck import all_alike
from tests.solver.played import all_but, rack, small, tiles, tiny

SET = Counter({tile: tile.copies for tile in KINDS})
HELD = rack("F F F N N N E E red red S W W J")
THREE = [(Round.FIRST_RIGHT, 3)]


def question(**parts: object) -> Question:
    return Question(tiny(), HELD, Round.FIRST_RIGHT, **parts)  # type: ignore[arg-type]


def test_every_natural_has_a_sort_and_a_joker_none() -> None:
    naturals = [tile for tile in KINDS if tile is not Tile.JOKER]
    assert Counter(map(sort_of, naturals)) == Counter(
        {**dict.fromkeys(list(Sort)[:9], 3), Sort.WIND: 4, Sort.DRAGON: 3, Sort.FLOWER: 1}
    )
    with pytest.raises(ValueError, match="never passed"):
        sort_of(Tile.JOKER)


@pytest.mark.parametrize("round_", Round)
def test_each_round_has_a_share_for_each_sort(round_: Round) -> None:
    shares = dict(zip(Sort, SHARES[round_], strict=True))
    assert all(0 <= share <= 1000 for share in shares.values())
    weights = dict(zip(KINDS, weights_of(round_), strict=False))
    assert len(weights_of(round_)) == 35 and min(weights.values()) > 0
    assert len({weights[wind] for wind in WINDS}) == 1 and len({weights[dragon] for dragon in DRAGONS}) == 1
    assert weights[Tile.B9] == weights[Tile.D9] == shares[Sort.NINE]


@pytest.mark.parametrize("drill", [None, Drill(3)])
def test_what_comes_in_are_unseen_naturals(drill: Drill | None) -> None:
    seen = tiles("F F 1b 2b J")
    for sample in range(20):
        asked = question(seen=seen, drill=drill)
        came = incoming(
            asked, [(Round.FIRST_RIGHT, 3), (Round.FIRST_ACROSS, 3), (Round.COURTESY, 2)], 1, sample
        )
        assert [len(each) for each in came] == [3, 3, 2]
        all_came = Counter(tile for each in came for tile in each)
        assert Tile.JOKER not in all_came
        assert not all_came - (SET - Counter(HELD.tiles) - Counter(seen))


def test_all_that_is_left_comes_in() -> None:
    pool = Counter(tiles("F F E 1b 1b"))
    asked = question(seen=all_but(HELD, pool), arrivals=Arrivals(0, 0, 0))
    first, last = incoming(asked, [(Round.FIRST_RIGHT, 3), (Round.FIRST_ACROSS, 2)], 4, 0)
    assert Counter((*first, *last)) == pool


def test_the_luck_hangs_on_rack_tiles_seen_exchanges_seed_and_sample_only() -> None:
    base = question(seen=tiles("1b 2b"))
    came = incoming(base, THREE, 5, 3)
    for other in (
        replace(base, round=Round.COURTESY),
        replace(base, card=small()),
        replace(base, arrivals=Arrivals(1, 2, 3)),
        replace(base, limits=Limits(no_pairs=True)),
    ):
        assert incoming(other, THREE, 5, 3) == came
    assert incoming(base, THREE * 2, 5, 3)[0] == came[0]
    assert incoming(base, THREE, 5, 4) != came
    assert incoming(base, THREE, 6, 3) != came


def frequencies(asked: Question, samples: int) -> Counter[Tile]:
    return Counter(incoming(asked, [(Round.FIRST_RIGHT, 1)], 2, sample)[0][0] for sample in range(samples))


def test_tiles_come_as_readily_as_others_pass_them() -> None:
    pool = Counter(tiles("E E 1b 9d"))
    asked = question(seen=all_but(HELD, pool), arrivals=Arrivals(0, 0, 0))
    weights = dict(zip(KINDS, weights_of(Round.FIRST_RIGHT), strict=False))
    total = sum(count * weights[tile] for tile, count in pool.items())
    found = frequencies(asked, 3000)
    for tile, count in pool.items():
        chance = count * weights[tile] / total
        assert abs(found[tile] / 3000 - chance) < 4 * (chance * (1 - chance) / 3000) ** 0.5


@pytest.mark.parametrize("drilled", [False, True])
def test_in_a_drill_and_when_all_are_alike_tiles_come_by_their_number(
    monkeypatch: pytest.MonkeyPatch, drilled: bool
) -> None:
    if not drilled:
        all_alike(monkeypatch)
    pool = Counter(tiles("F F F E"))
    drill = Drill(1, 0) if drilled else None
    asked = question(seen=all_but(HELD, pool), arrivals=Arrivals(0, 0, 0), drill=drill)
    assert abs(frequencies(asked, 1600)[Tile.FLOWER] / 1600 - 0.75) < 4 * (0.75 * 0.25 / 1600) ** 0.5
