"""Deals measured in another round than the first, and the count of those tried."""

from patterns.card_file import shipped_card
from solver.advice import advise
from solver.arrivals import Arrivals
from solver.deals import DealWish, Difficulty, find_deals, found_and_tried
from solver.question import Question
from solver.rounds import Round

CARD = shipped_card("small")


def test_a_deal_is_measured_in_the_round_wished_for() -> None:
    wish = DealWish(CARD, seed=3, count=6, budget=30, difficulty=Difficulty.CLEAR, round=Round.COURTESY)
    found = list(find_deals(wish))
    assert found
    for each in found:
        assert each.advice == advise(Question(CARD, each.deal.rack, Round.COURTESY))
        assert Difficulty.CLEAR.fits(each.advice)


def test_arrivals_are_those_wished_for() -> None:
    arrivals = Arrivals(6, 9, 4)
    (found,) = find_deals(DealWish(CARD, seed=3, count=1, arrivals=arrivals))
    assert found.advice.arrivals == arrivals
    assert found.advice == advise(Question(CARD, found.deal.rack, Round.FIRST_RIGHT, arrivals=arrivals))


def test_all_that_were_tried_are_counted() -> None:
    wish = DealWish(CARD, seed=3, count=2, budget=30, jokers=2)
    found, tried = found_and_tried(wish)
    assert [each.deal for each in found] == [each.deal for each in find_deals(wish)]
    assert tried == found[-1].deal.index + 1
    assert found_and_tried(DealWish(CARD, seed=3, count=2, budget=5, jokers=8)) == ([], 5)
