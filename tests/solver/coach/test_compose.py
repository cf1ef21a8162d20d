"""Composed racks against all racks there are with twelve tiles given; what clashes; how far racks differ."""

import random
from collections import Counter
from itertools import combinations, combinations_with_replacement

import pytest

from patterns.faults import FaultyInputError
from patterns.rack import Rack
from patterns.stopping import StoppedError, Stopper
from patterns.tiles import KINDS, Tile
from solver.advice import Closeness, advise
from solver.coach.compose import Composition, Copies, Near, RackModel, RackWish, compose, hands_called
from solver.deals import DealWish, Difficulty, deal, question_of, shuffled_wall
from solver.situation import N_NATURALS, counts_of, tables_of, tiles_away
from tests.solver.played import own, small, tiles

NO_JOKERS = Copies(("jokers",), Tile.JOKER, 0, 0)


def away(rack: Rack, name: str) -> int:
    """Count what the nearest target of some hands lacks; this knows no model."""
    tables = tables_of(own())
    held = counts_of(rack.tiles)
    lack = tiles_away(tables, held[:N_NATURALS], int(held[N_NATURALS]))
    hands = [at for at, hand in enumerate(own().hands) if name in (hand.name, hand.family)]
    return min(int(lack[row]) for row in range(len(lack)) if tables.hand[row] in hands)


def fits(rack: Rack, wishes: tuple[RackWish, ...]) -> bool:
    counts = Counter(rack.tiles)
    return all(
        away(rack, wish.name) == wish.away
        if isinstance(wish, Near)
        else wish.least <= counts[wish.tile] <= (14 if wish.most is None else wish.most)
        for wish in wishes
    )


def holding(given: tuple[Tile, ...]) -> tuple[RackWish, ...]:
    return tuple(Copies(("holds",), tile, count) for tile, count in Counter(given).items())


def all_racks(given: tuple[Tile, ...]) -> list[Rack]:
    racks = []
    for two in combinations_with_replacement(KINDS, 2):
        counts = Counter((*given, *two))
        if all(count <= tile.copies for tile, count in counts.items()):
            racks.append(Rack((*given, *two)))
    return racks


def asked(*wishes: RackWish, apart: int = 4, **members: object) -> Composition:
    wish = DealWish(own(), **{"seed": 5, "count": 4, "budget": 20, **members})  # type: ignore[arg-type]
    return Composition(wish, wishes, apart)


@pytest.mark.parametrize("seed", range(4))
def test_there_is_a_rack_whenever_one_of_all_fits(seed: int) -> None:
    rnd = random.Random(seed)
    target = rnd.choice(tables_of(own()).targets)
    wanted = [group.tile for group in target.groups for _ in range(min(group.count, group.tile.copies))]
    dealt = deal(3, seed).rack.tiles
    given = tuple([*wanted, *dealt][:12]) if seed % 2 else dealt[:12]
    racks = all_racks(given)
    for name in ("weather", "Copper Pans"):
        distances = {away(rack, name) for rack in racks}
        for number in range(15):
            wishes = (*holding(given), Near(("near", 0), name, number))
            found = RackModel(own(), 14, wishes).rack(shuffled_wall(seed, 1))
            assert (found is not None) == (number in distances)
            assert found is None or fits(found, wishes)


@pytest.mark.parametrize("size", [13, 14])
def test_racks_fit_differ_and_are_dealt_from_a_whole_set(size: int) -> None:
    wishes = (Near(("near", 0), "weather", 5), NO_JOKERS, *holding(tiles("5c 5c F")))
    found, tried = compose(asked(*wishes, apart=6, size=size))
    assert len(found) == tried == 4
    for each in found:
        rack, heap = Counter(each.deal.rack.tiles), Counter(each.deal.heap)
        assert fits(each.deal.rack, wishes) and rack.total() == size
        assert rack + heap == Counter({tile: tile.copies for tile in KINDS if tile is not Tile.JOKER})
    for one, other in combinations(found, 2):
        assert (Counter(one.deal.rack.tiles) - Counter(other.deal.rack.tiles)).total() >= 6


def test_without_wishes_the_racks_are_those_that_are_dealt() -> None:
    found, _ = compose(asked(apart=1))
    assert [each.deal for each in found] == [deal(5, index) for index in range(4)]


@pytest.mark.long
def test_the_advice_says_whether_a_rack_is_clear_and_which_way_it_goes() -> None:
    composition = asked(
        Near(("near", 0), "weather", 6), difficulty=Difficulty.CLEAR, family="weather", count=3, budget=60
    )
    found, tried = compose(composition)
    assert len(found) == 3 <= tried
    for each in found:
        assert each.advice == advise(question_of(composition.deals, each.deal))
        assert each.advice.closeness is Closeness.CLEAR
        assert each.advice.hands[0].hand.family == "weather"


def test_the_same_wish_is_the_same_racks_and_another_seed_others() -> None:
    wish = asked(Near(("near", 0), "shelves", 5))
    first, second = compose(wish), compose(wish)
    assert [each.deal for each in first[0]] == [each.deal for each in second[0]]
    others, _ = compose(asked(Near(("near", 0), "shelves", 5), seed=6))
    assert not {each.deal.rack for each in first[0]} & {each.deal.rack for each in others}


def test_when_no_other_rack_is_so_far_apart_it_ends() -> None:
    """Twelve tiles are given, so no two racks differ by more than two."""
    given = deal(3, 0).rack.tiles[:12]
    found, tried = compose(asked(*holding(given), apart=2, count=50, budget=200))
    racks = [each.deal.rack for each in found]
    assert len(racks) == tried < 50
    assert not [
        rack
        for rack in all_racks(given)
        if all((Counter(rack.tiles) - Counter(other.tiles)).total() >= 2 for other in racks)
    ]


def test_what_clashes_is_named_and_none_of_it_is_needless() -> None:
    given = deal(3, 2).rack.tiles[:12]
    reach = {away(rack, "weather") for rack in all_racks(given)}
    near = Near(("near", 1), "weather", min(reach) - 1)
    wishes = (Near(("near", 0), "shelves", 7), near, *holding(given), NO_JOKERS)
    with pytest.raises(FaultyInputError) as refused:
        compose(asked(*wishes))
    places = [(fault.place, fault.detail.partition(":")[0]) for fault in refused.value.faults]
    clashing = [wish for wish in wishes if (wish.place, wish.says) in places]
    assert len(clashing) == len(places) and near in clashing
    for needless in (None, *clashing):
        some = [wish for wish in clashing if wish is not needless]
        assert (RackModel(own(), 14, some).rack(shuffled_wall(1, 1)) is None) == (needless is None)


@pytest.mark.parametrize(
    ("wishes", "says"),
    [
        ((Copies(("holds",), Tile.B5, 5),), "at least five 5 bams: no rack of 13 tiles can be so"),
        ((Near(("near", 0), "weather", 0),), "0 tiles away from weather: no rack of 13 tiles can be so"),
    ],
)
def test_one_wish_that_no_rack_fits(wishes: tuple[RackWish, ...], says: str) -> None:
    with pytest.raises(FaultyInputError) as refused:
        compose(asked(*wishes, size=13))
    assert [fault.detail for fault in refused.value.faults] == [says]


def test_hands_go_by_their_names_their_families_and_both() -> None:
    names = [hand.name for hand in small().hands]
    first = small().hands[0]
    assert hands_called(small(), first.name) == hands_called(small(), f"{first.name}/{first.family}") == [0]
    family = [at for at, hand in enumerate(small().hands) if hand.family == first.family]
    assert hands_called(small(), first.family) == family and len(family) > 1
    assert hands_called(small(), "nobody") == [] == hands_called(small(), f"{names[0]}/nobody")


def test_a_stop_ends_it() -> None:
    stopper = Stopper()
    stopper.stop()
    with stopper.running(), pytest.raises(StoppedError):
        compose(asked())
