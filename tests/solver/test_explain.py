import random
from collections import Counter
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.rack import Rack
from patterns.tiles import Tile
from solver import explain
from solver.advice import advise
from solver.card_tables import tables_of
from solver.explain import HandStanding, standing
from solver.limits import Limits, hand_weights
from solver.rescore import score
from solver.situation import Situation
from tests.solver.racks import WALL, question, random_rack


def places(made: HandStanding) -> tuple[Counter[Tile], Counter[Tile]]:
    """Return the target's tiles in singles and pairs, and in groups of three or more."""
    plain: Counter[Tile] = Counter()
    grouped: Counter[Tile] = Counter()
    for group in made.target.groups:
        (plain if group.count < 3 else grouped)[group.tile] += group.count
    return plain, grouped


def check(made: HandStanding, kept: Counter[Tile]) -> None:
    """Check that what serves and what is missing make the target, with jokers in groups only."""
    plain, grouped = places(made)
    served, lacking = Counter(made.served_by), Counter(made.missing)
    jokers = served.pop(Tile.JOKER, 0)
    assert jokers == made.jokers_used
    assert not served - kept
    assert jokers <= kept[Tile.JOKER]
    by_jokers = (plain + grouped) - served - lacking
    assert not (served + lacking) - (plain + grouped)
    assert by_jokers.total() == jokers
    for tile, count in by_jokers.items():
        assert count <= grouped[tile]
        assert served[tile] + lacking[tile] >= plain[tile]
    assert made.tiles_away == len(made.missing) == 14 - len(made.served_by)
    assert Tile.JOKER not in made.missing


def is_frugal(made: HandStanding, kept: Counter[Tile]) -> bool:
    """Return whether no kept tile that could serve is left idle."""
    _, grouped = places(made)
    idle = kept - Counter(made.served_by)
    joker_place = sum(min(lack, grouped[tile]) for tile, lack in Counter(made.missing).items())
    return not (idle & Counter(made.missing)) and not (idle[Tile.JOKER] and joker_place)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(0, 10**6), st.integers(0, 3), st.sampled_from(["small", "full"]), st.integers(0, 8))
def test_served_and_missing_make_the_target(seed: int, gone: int, name: str, jokers: int) -> None:
    rnd = random.Random(seed)
    naturals = [tile for tile in WALL if tile is not Tile.JOKER]
    asked = question(Rack((*rnd.sample(naturals, 14 - jokers), *[Tile.JOKER] * jokers)), name)
    passed = tuple(rnd.sample([tile for tile in asked.rack.tiles if tile is not Tile.JOKER], gone))
    tables, weights = tables_of(asked.card), hand_weights(asked.card, Limits())
    before, after = (score(asked.situation, tables, weights, tiles) for tiles in ((), passed))
    kept = Counter(asked.rack.tiles) - Counter(passed)
    for hand in range(len(asked.card.hands)):
        made = standing(asked.situation, tables, before, after, hand, 0.5)
        check(made, kept)
        assert is_frugal(made, kept)
        assert made.hand is asked.card.hands[hand]
        assert made.target in made.hand.targets
        assert (made.reach, made.before) == (after.reach[hand], before.reach[hand])
        assert made.alone == 0.5
        assert made.reach <= made.before * (1 + 1e-12)


def test_jokers_go_where_the_fewest_tiles_are_left() -> None:
    """Four of a kind of which all others were seen need the joker more than the rest."""
    asked = question("NN EE W 123456b JJ 9c", "full")
    gone = (Tile.NORTH,) * 2
    situation = Situation(asked.rack, gone, asked.situation.arrivals)
    tables, weights = tables_of(asked.card), hand_weights(asked.card, Limits())
    everything = score(situation, tables, weights, ())
    found = 0
    for hand in range(len(asked.card.hands)):
        made = standing(situation, tables, everything, everything, hand, None)
        _, grouped = places(made)
        if grouped[Tile.NORTH] > 2 and made.jokers_used:
            found += 1
            assert made.missing.count(Tile.NORTH) == max(0, grouped[Tile.NORTH] - 2 - 2)
    assert found


def test_missing_is_in_the_fixed_order_and_jokers_come_last() -> None:
    answer = advise(question(random_rack(random.Random(4)), "full"))
    for made in answer.hands:
        assert list(made.missing) == sorted(made.missing, key=lambda tile: tile.position)
        naturals = [tile for tile in made.served_by if tile is not Tile.JOKER]
        assert made.served_by[: len(naturals)] == tuple(naturals)


def test_standings_are_described_when_looked_at_and_compare_as_what_they_say() -> None:
    answer, same = (advise(question(random_rack(random.Random(5)))) for _ in range(2))
    other = advise(question(random_rack(random.Random(6))))
    assert answer.hands == same.hands == tuple(answer.hands)
    assert hash(answer.hands) == hash(same.hands)
    assert answer.hands != other.hands and answer.hands != ()
    assert len(answer.hands) == len(answer.hands.order) == len(tuple(answer.hands))
    assert answer.hands[-1] == tuple(answer.hands)[-1] and answer.hands[:2] == tuple(answer.hands)[:2]
    with pytest.raises(IndexError):
        answer.hands[len(answer.hands)]


def test_only_hands_looked_at_are_described(monkeypatch: pytest.MonkeyPatch) -> None:
    looked_at: list[int] = []

    def watched(*given: Any) -> HandStanding:
        looked_at.append(given[4])
        return standing(*given)

    monkeypatch.setattr(explain, "standing", watched)
    hands = advise(question(random_rack(random.Random(5)))).hands
    assert not looked_at
    assert (*hands[:2], hands[-1]) == (hands[0], hands[1], hands[-1])
    first, second, last = (int(hands.order[at]) for at in (0, 1, -1))
    assert looked_at == [first, second, last, first, second, last]


def test_hands_that_differ_by_the_last_digit_stand_in_the_order_of_the_card() -> None:
    hands = advise(question(random_rack(random.Random(5)))).hands
    first, second = sorted(hands.order[:2].tolist())
    reach = hands.after.reach.copy()
    reach[first], reach[second] = 0.5, np.nextafter(0.5, 1)
    tied = replace(hands, after=replace(hands.after, reach=reach))
    assert tied.order[:2].tolist() == [first, second]
