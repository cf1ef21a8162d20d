"""Deals and the luck they are dealt by: the same on every machine, and filtered by what the advice says."""

from collections import Counter
from functools import cache
from hashlib import sha256
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import chisquare

import solver.deals as module
from patterns.faults import FaultyInputError
from patterns.rack import parse_rack
from patterns.stopping import StoppedError, Stopper
from patterns.tiles import KINDS, Tile
from solver.advice import Advice, ClashError, Closeness, advise
from solver.arrivals import Arrivals, default_arrivals
from solver.deals import (
    Deal,
    DealWish,
    Difficulty,
    FoundDeal,
    Luck,
    chances_from_deal,
    deal,
    find_deals,
    question_of,
)
from solver.limits import AtLeast, Choice, Limits
from solver.rounds import Drill, Round
from solver.situation import Question, tables_of
from tests.solver.played import own
from tests.solver.reach.exact_reference import reach_by_fractions

WHOLE_SET = Counter({tile: tile.copies for tile in KINDS})
# First 16 hex digits of the SHA-256 of rack and heap: the same on every machine and version.
DIGESTS: dict[tuple[int, int, int], str] = {
    (0, 0, 14): "7dd31a519235ca7f",
    (7, 0, 14): "27078f9317a71d0a",
    (7, 1, 14): "a316e659cdef2f17",
    (7, 0, 13): "1b38ca3ab75ee271",
    (11, 1999, 14): "1e710122b167e98a",
    (2**63 - 1, 123456, 14): "50a409d27924b0c9",
}


@pytest.fixture(autouse=True)
def _measure_each_deal_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "advise", lambda question, **_: _advise(question))


@cache
def _advise(question: Question) -> Advice:
    return advise(question)


def search(**wish: object) -> tuple[list[FoundDeal], int]:
    return find_deals(DealWish(own(), **{"seed": 7, "count": 3, **wish}))  # type: ignore[arg-type]


def found(**wish: object) -> list[FoundDeal]:
    return search(**wish)[0]


def digest(dealt: Deal) -> str:
    words = [tile.value for tile in (*dealt.rack.tiles, *dealt.heap)]
    return sha256(" ".join(words).encode()).hexdigest()[:16]


def test_luck_is_that_of_every_machine() -> None:
    luck = Luck(7, 3)
    assert [luck.below(1000) for _ in range(8)] == [670, 161, 542, 633, 639, 947, 632, 326]
    assert Luck(0).shuffled(range(12)) == [9, 0, 6, 10, 2, 7, 1, 3, 8, 4, 5, 11]
    assert "".join(Luck(2**63 - 1, 2**32).shuffled("threepass")) == "septsaehr"
    names = ((4, 1), (1, 4), (4, 2), (5, 1), (4,), (4, 1, 1))
    assert len({tuple(Luck(*name).shuffled(range(30))) for name in names}) == 6


@pytest.mark.parametrize("limit", [1, 2, 3, 152, 2**63 + 1, 2**64 - 1, 2**64])
def test_too_high_raw_numbers_are_drawn_again(limit: int) -> None:
    raw = [int(number) for number in np.random.PCG64(np.random.SeedSequence((9, 9))).random_raw(64)]
    multiple = limit * (2**64 // limit)
    luck = Luck(9, 9)
    expected = [number % limit for number in raw if number < multiple]
    assert [luck.below(limit) for _ in expected] == expected
    assert limit != 2**63 + 1 or 16 < len(expected) < 48


def test_every_order_and_every_place_is_equally_likely() -> None:
    """The chance of so uneven a count is over 1 in 1,000 for a fair shuffle, and these names are fixed."""
    counts = Counter(tuple(Luck(17, name).shuffled("abcd")) for name in range(4800))
    assert set(counts) == set(permutations("abcd"))
    assert chisquare(list(counts.values())).pvalue > 1e-3
    places = np.zeros((13, 13))
    luck = Luck(23)
    for _ in range(2600):
        places[range(13), luck.shuffled(range(13))] += 1
    assert chisquare(places.ravel(), ddof=24).pvalue > 1e-3


@given(st.lists(st.integers(0, 5), max_size=20), st.integers(0, 2**64 - 1))
@settings(max_examples=50)
def test_a_shuffle_keeps_the_items_and_leaves_the_given_ones_as_they_are(items: list[int], seed: int) -> None:
    before = list(items)
    assert Counter(Luck(seed).shuffled(items)) == Counter(before)
    assert items == before


@pytest.mark.parametrize(("seed", "index", "size"), DIGESTS)
def test_a_deal_is_the_same_on_every_machine(seed: int, index: int, size: int) -> None:
    assert digest(deal(seed, index, size)) == DIGESTS[seed, index, size]


def test_a_deal_in_words() -> None:
    assert deal(7, 0).rack == parse_rack("158b 189c 33589d W S F")
    assert " ".join(tile.value for tile in deal(7, 0).heap[:6]) == "6d 2c N 5c 6c white"


@pytest.mark.parametrize("size", [13, 14])
def test_rack_heap_and_jokers_are_the_set_in_the_order_of_the_shuffle(size: int) -> None:
    wall = [tile for tile in KINDS for _ in range(tile.copies)]
    for index in range(20):
        dealt = deal(3, index, size)
        order = Luck(3, index).shuffled(wall)
        assert len(dealt.rack.tiles) == size and dealt.index == index
        assert Counter(dealt.rack.tiles) == Counter(order[:size])
        assert list(dealt.heap) == [tile for tile in order[size:] if tile is not Tile.JOKER]
        assert Counter(dealt.rack.tiles) + Counter(dealt.heap) | Counter({Tile.JOKER: 8}) == WHOLE_SET


def test_about_as_many_jokers_as_in_the_set() -> None:
    """Of 500 racks of 14: mean 14 * 8 / 152, five standard errors (hypergeometric variance)."""
    jokers = sum(deal(1, index).rack.tiles.count(Tile.JOKER) for index in range(500))
    share = 8 / 152
    variance = 14 * share * (1 - share) * (152 - 14) / 151
    assert abs(jokers / 500 - 14 * share) < 5 * (variance / 500) ** 0.5


def test_deals_come_in_order_of_index_with_their_advice_and_the_search_ends_with_the_last_wanted() -> None:
    deals, tried = search()
    assert [each.deal for each in deals] == [deal(7, index) for index in range(3)] and tried == 3
    for each in deals:
        assert each.advice.question == question_of(DealWish(own(), 7, 3), each.deal)
        assert each.advice == advise(Question(own(), each.deal.rack, Round.FIRST_RIGHT))


def test_the_budget_ends_the_search() -> None:
    assert search(count=5, jokers=8, budget=40) == ([], 40)
    deals, tried = search(count=9, budget=2)
    assert (len(deals), tried) == (2, 2)


def test_a_later_start_gives_the_same_deals() -> None:
    wish: dict[str, object] = {"difficulty": Difficulty.CLOSE, "count": 12}
    every = [each.deal for each in found(**wish, budget=12)]
    later = [each.deal for each in found(**wish, start=5, budget=7)]
    assert later == [each for each in every if each.index >= 5] and 0 < len(later) < len(every)


def test_difficulty_is_that_of_the_gap() -> None:
    by_index = {each.deal.index: each.advice.closeness for each in found(count=16, start=121)}
    close = found(count=16, start=121, budget=16, difficulty=Difficulty.CLOSE)
    clear = found(count=16, start=121, budget=16, difficulty=Difficulty.CLEAR)
    for deals, words in (
        (close, (Closeness.CLOSE, Closeness.TOSS_UP)),
        (clear, (Closeness.CLEAR, Closeness.ONLY)),
    ):
        assert [each.deal.index for each in deals] == [at for at, call in by_index.items() if call in words]
    assert close and clear
    close_shares, clear_shares = (
        [each.advice.behind(each.advice.runner_ups[0]) / each.advice.strength for each in deals]
        for deals in (close, clear)
    )
    assert max(close_shares) < 0.01 and min(clear_shares) >= 0.04


@pytest.mark.parametrize("family", ["weather", "shelves"])
def test_the_family_is_that_of_the_likeliest_hand(family: str) -> None:
    # Hands equal but for the last digit stand in the order of the card, so the first of them is meant.
    likeliest = {
        each.deal.index: max(each.advice.hands, key=lambda standing: round(standing.reach, 12)).hand
        for each in found(count=16)
    }
    picked = [each.deal.index for each in found(count=16, budget=16, family=family)]
    assert picked == [index for index, hand in likeliest.items() if hand.family == family]
    assert 0 < len(picked) < 16


@pytest.mark.parametrize("jokers", [0, 1, 2])
def test_exactly_this_many_jokers(jokers: int) -> None:
    deals = found(jokers=jokers, count=2)
    assert [each.deal.rack.tiles.count(Tile.JOKER) for each in deals] == [jokers] * 2
    first = next(index for index in range(500) if deal(7, index).rack.tiles.count(Tile.JOKER) == jokers)
    assert deals[0].deal.index == first


def test_filters_hold_together() -> None:
    (each,) = found(jokers=1, family="shelves", difficulty=Difficulty.CLEAR, count=1, budget=200)
    assert each.deal.rack.tiles.count(Tile.JOKER) == 1
    assert each.advice.hands[0].hand.family == "shelves" and each.advice.closeness is Closeness.CLEAR


def test_a_deal_is_measured_in_its_drill_round_and_arrivals() -> None:
    (drilled,) = found(count=1, drill=Drill(3, 20))
    assert drilled.advice.arrivals == Arrivals.of(9, 20, 0)
    stated = Arrivals.of(6, 9, 4)
    wish = {"round": Round.COURTESY, "arrivals": stated, "size": 13, "difficulty": Difficulty.CLEAR}
    (each,) = found(**wish, count=1, budget=60)
    assert each.deal == deal(7, each.deal.index, 13)
    assert each.advice == advise(Question(own(), each.deal.rack, Round.COURTESY, arrivals=stated))


def test_limits_decide_which_hands_count() -> None:
    (each,) = found(count=1, limits=Limits.of(only=Choice(families=("shelves",))))
    assert {standing.hand.family for standing in each.advice.hands} == {"shelves"}
    with pytest.raises(FaultyInputError):
        found(limits=Limits.of(only=Choice(families=("nobody",))))


def test_a_deal_without_a_pass_that_keeps_the_limits_does_not_fit() -> None:
    limits = Limits.of(keep_hands=AtLeast(1, 0.02))
    kept = {each.deal.index for each in found(limits=limits, budget=12, count=12)}
    for index in range(12):
        try:
            advise(question_of(DealWish(own(), 7, 1, limits=limits), deal(7, index)))
        except ClashError:
            assert index not in kept
        else:
            assert index in kept
    assert 0 < len(kept) < 12


def test_a_stop_ends_it() -> None:
    stopper = Stopper()
    stopper.stop()
    with stopper.running(), pytest.raises(StoppedError):
        find_deals(DealWish(own(), 7, 9))


def test_a_hands_chance_from_a_deal_is_the_exact_reach_of_its_best_target_from_nothing() -> None:
    """14 dealt and some drawn with jokers, some from exchanges, some claims, nothing held."""
    tables, chances = tables_of(own()), chances_from_deal(own())
    coming = default_arrivals(Round.FIRST_RIGHT, 3)
    for index, hand in enumerate(own().hands):
        demands = set()
        for row in np.flatnonzero(tables.hand == index):
            wanted = zip(tables.plain[row].tolist(), tables.grouped[row].tolist(), strict=True)
            copies = [8 if kind == Tile.FLOWER.position else 4 for kind in range(35)]
            demands.add(tuple(sorted((n, 0, *want) for n, want in zip(copies, wanted, strict=True))))
        best = max(
            sum(
                each.share
                * float(
                    reach_by_fractions(
                        list(kinds), 8, 0, (coming.charleston, 14 + each.draws, each.claims), hand.concealed
                    )
                )
                for each in coming.lengths
            )
            for kinds in demands
        )
        assert chances[index] == pytest.approx(best, rel=1e-12)
        assert 0 < chances[index] < 1
