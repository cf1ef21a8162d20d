from collections import Counter
from functools import cache
from hashlib import sha256

import pytest

import solver.deals as module
from patterns.faults import FaultyInputError
from patterns.rack import format_tiles
from patterns.tiles import KINDS, Tile
from solver.advice import Advice, Call, ClashError, advise
from solver.deals import Deal, DealWish, Difficulty, FoundDeal, Luck, deal, find_deals, question_of
from solver.limits import AtLeast, Choice, Limits
from solver.question import Question
from solver.rounds import Drill, Round
from solver.stopping import StoppedError, Stopper
from tests.solver.played import small

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
    monkeypatch.setattr(module, "advise", lambda question, stopper, **_: _advise(question))


@cache
def _advise(question: Question) -> Advice:
    return advise(question)


def digest(dealt: Deal) -> str:
    words = [tile.value for tile in (*dealt.rack.tiles, *dealt.heap)]
    return sha256(" ".join(words).encode()).hexdigest()[:16]


def found(**wish: object) -> list[FoundDeal]:
    return list(find_deals(DealWish(small(), **{"seed": 7, "count": 3, **wish})))  # type: ignore[arg-type]


@pytest.mark.parametrize(("seed", "index", "size"), DIGESTS)
def test_a_deal_is_the_same_on_every_machine(seed: int, index: int, size: int) -> None:
    assert digest(deal(seed, index, size)) == DIGESTS[seed, index, size]


def test_a_deal_in_words() -> None:
    assert format_tiles(deal(7, 0).rack.tiles) == "158b 189c 33589d W S F"
    assert " ".join(tile.value for tile in deal(7, 0).heap[:6]) == "6d 2c N 5c 6c white"


@pytest.mark.parametrize("size", [13, 14])
@pytest.mark.parametrize("index", range(25))
def test_rack_heap_and_jokers_are_the_set(index: int, size: int) -> None:
    dealt = deal(3, index, size)
    assert len(dealt.rack.tiles) == size
    assert Tile.JOKER not in dealt.heap
    together = Counter(dealt.rack.tiles) + Counter(dealt.heap)
    together[Tile.JOKER] = 8
    assert together == WHOLE_SET
    assert dealt.index == index


def test_the_heap_is_the_rest_of_the_shuffle_in_its_order() -> None:
    wall = Luck(3, 4).shuffled([tile for tile in KINDS for _ in range(tile.copies)])
    dealt = deal(3, 4, 13)
    assert Counter(wall[:13]) == Counter(dealt.rack.tiles)
    assert [tile for tile in wall[13:] if tile is not Tile.JOKER] == list(dealt.heap)


def test_seed_and_index_name_the_deal() -> None:
    assert deal(3, 4) == deal(3, 4)
    assert len({deal(seed, index).rack for seed in range(5) for index in range(5)}) == 25


def test_about_as_many_jokers_as_in_the_set() -> None:
    """Of 500 racks of 14: mean 14 * 8 / 152, five standard errors (hypergeometric variance)."""
    jokers = sum(deal(1, index).rack.tiles.count(Tile.JOKER) for index in range(500))
    share = 8 / 152
    variance = 14 * share * (1 - share) * (152 - 14) / 151
    assert abs(jokers / 500 - 14 * share) < 5 * (variance / 500) ** 0.5


def test_deals_come_in_order_of_index_with_their_advice() -> None:
    deals = found()
    assert [each.deal for each in deals] == [deal(7, index) for index in range(3)]
    for each in deals:
        assert each.advice.question == question_of(DealWish(small(), 7, 3), each.deal)
        assert each.advice.question.rack == each.deal.rack
        assert each.advice.question.round is Round.FIRST_RIGHT
        assert len(each.advice.passed) == 3


@pytest.mark.parametrize("start", [1, 5])
def test_a_later_start_gives_the_same_deals(start: int) -> None:
    wish: dict[str, object] = {"difficulty": Difficulty.CLOSE, "budget": 12, "count": 12}
    from_zero = [(each.deal, each.advice.passed) for each in found(**wish)]
    later = [
        (each.deal, each.advice.passed) for each in found(**{**wish, "start": start, "budget": 12 - start})
    ]
    assert later == [each for each in from_zero if each[0].index >= start]
    assert later


def test_difficulty_is_that_of_the_gap() -> None:
    by_call = {each.deal.index: each.advice.call for each in found(count=16)}
    close = {each.deal.index for each in found(count=16, budget=16, difficulty=Difficulty.CLOSE)}
    clear = {each.deal.index for each in found(count=16, budget=16, difficulty=Difficulty.CLEAR)}
    assert close == {index for index, call in by_call.items() if call in (Call.CLOSE, Call.EVEN)}
    assert clear == {index for index, call in by_call.items() if call in (Call.CLEAR, Call.ONLY)}
    assert close and clear and not close & clear
    for each in found(count=16, budget=16, difficulty=Difficulty.CLOSE):
        assert each.advice.runner_ups[0].gap < 0.005 * each.advice.expected
    for each in found(count=16, budget=16, difficulty=Difficulty.CLEAR):
        assert each.advice.runner_ups[0].gap >= 0.02 * each.advice.expected


@pytest.mark.parametrize("family", ["ladders", "gardens"])
def test_the_family_is_that_of_the_likeliest_hand(family: str) -> None:
    every = found(count=16)
    picked = found(count=16, budget=16, family=family)
    # Hands equal but for the last digit stand in the order of the card, so the first of them is meant.
    likeliest = {
        each.deal.index: max(each.advice.hands, key=lambda hand: round(hand.reach, 12)) for each in every
    }
    assert [each.deal.index for each in picked] == [
        index for index, standing in likeliest.items() if standing.hand.family == family
    ]
    assert 0 < len(picked) < 16


@pytest.mark.parametrize("jokers", [0, 1, 2])
def test_exactly_so_many_jokers(jokers: int) -> None:
    deals = found(jokers=jokers, count=2)
    assert len(deals) == 2
    assert all(each.deal.rack.tiles.count(Tile.JOKER) == jokers for each in deals)
    first = next(index for index in range(500) if deal(7, index).rack.tiles.count(Tile.JOKER) == jokers)
    assert deals[0].deal.index == first


def test_filters_hold_together() -> None:
    (each,) = found(jokers=1, family="ladders", difficulty=Difficulty.CLEAR, count=1, budget=200)
    assert each.deal.rack.tiles.count(Tile.JOKER) == 1
    assert each.advice.hands[0].hand.family == "ladders"
    assert each.advice.call is Call.CLEAR


def test_the_budget_ends_the_search() -> None:
    told: list[tuple[int, int]] = []
    wish = DealWish(small(), 7, 5, jokers=8, budget=40)
    assert list(find_deals(wish, progress=lambda tried, hits: told.append((tried, hits)))) == []
    assert told == [(tried, 0) for tried in range(1, 41)]
    assert len(found(count=9, budget=2)) == 2


def test_the_search_ends_with_the_last_deal_wanted() -> None:
    told: list[tuple[int, int]] = []
    list(find_deals(DealWish(small(), 7, 2), progress=lambda tried, hits: told.append((tried, hits))))
    assert told == [(1, 1), (2, 2)]


def test_a_drill_is_measured_by_its_first_exchange() -> None:
    (each,) = found(count=1, drill=Drill(3, 20))
    assert each.advice.question.drill == Drill(3, 20)
    assert each.advice.arrivals.charleston == 9
    assert (each.advice.arrivals.draws, each.advice.arrivals.claims) == (20, 0)


def test_thirteen_tiles_for_a_table() -> None:
    (each,) = found(count=1, size=13)
    assert each.deal == deal(7, 0, 13)


def test_limits_decide_which_hands_count() -> None:
    limits = Limits(only=Choice(families=("giants",)))
    (each,) = found(count=1, limits=limits)
    assert {standing.hand.family for standing in each.advice.hands} == {"giants"}
    with pytest.raises(FaultyInputError):
        found(limits=Limits(only=Choice(families=("nobody",))))


def test_a_stop_ends_it() -> None:
    stopper = Stopper()
    deals = find_deals(DealWish(small(), 7, 9), stopper)
    next(deals)
    stopper.stop()
    with pytest.raises(StoppedError):
        next(deals)


def test_a_deal_without_a_pass_that_keeps_the_limits_does_not_fit() -> None:
    wish = {"limits": Limits(keep_hands=AtLeast(1, 0.05)), "budget": 12, "count": 12}
    kept = {each.deal.index for each in found(**wish)}
    for index in range(12):
        question = question_of(DealWish(small(), 7, 1, limits=wish["limits"]), deal(7, index))
        try:
            advise(question)
        except ClashError:
            assert index not in kept
        else:
            assert index in kept
    assert 0 < len(kept) < 12


def test_the_effort_is_that_of_each_question() -> None:
    assert question_of(DealWish(small(), 7, 1, effort=0.5), deal(7, 0)).effort == 0.5
