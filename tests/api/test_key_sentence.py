"""The one sentence of an answer key: each form it has, and its numbers against the re-scorer."""

import re
from dataclasses import replace

import pytest

from api.convert.key_sentence import key_sentence
from patterns.card_file import shipped_card
from patterns.rack import parse_rack
from solver.advice import advise
from solver.deals import DealWish, find_deals
from solver.limits import hand_weights
from solver.passes import score
from solver.rounds import Round
from solver.situation import Question, tables_of

CARD = shipped_card("small")
HAND = re.compile(r"(?:leaves|and) ([^,]+?) at ([0-9.]+) % instead of ([0-9.]+) %")
RACK = parse_rack("2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J")


def test_it_names_the_swap_and_hands_whose_reach_is_as_said() -> None:
    seen = 0
    for found in find_deals(DealWish(CARD, seed=5, count=12, budget=12))[0]:
        advice = found.advice
        other = advice.runner_ups[0]
        sentence = key_sentence(advice)
        assert sentence.startswith("Giving ") and sentence.endswith(".") and sentence.count("\n") == 0
        if other.gap <= advice.proof.resolution:
            assert sentence.endswith(" would be worth the same: either will do.")
            continue
        weights = hand_weights(CARD, advice.question.limits)
        situation, tables = advice.question.situation, tables_of(CARD)
        best, worse = (score(situation, tables, weights, given) for given in (advice.passed, other.passed))
        for name, low, high in re.findall(
            r"(?:leaves|and) ([^,]+?) at ([0-9.]+) % instead of ([0-9.]+) %", sentence
        ):
            index = next(index for index, hand in enumerate(CARD.hands) if hand.name == name)
            assert f"{100 * worse.reach[index]:.1f}" == low
            assert f"{100 * best.reach[index]:.1f}" == high
            assert float(low) < float(high)
            seen += 1
        for tile in set(other.passed) - set(advice.passed):
            assert tile.word in sentence.partition(" in place of ")[0]
        for tile in set(advice.passed) - set(other.passed):
            assert tile.word in sentence.partition(" in place of ")[2]
    assert seen > 5


def test_without_a_runner_up() -> None:
    question = Question(CARD, RACK, Round.COURTESY, 0)
    assert key_sentence(advise(question)) == "No other pass is allowed."
    unasked = Question(CARD, RACK, Round.FIRST_RIGHT, alternatives=0)
    assert key_sentence(advise(unasked)) == "It is the only pass that was found."


def test_nothing_is_best_to_give() -> None:
    compared = advise(Question(CARD, RACK, Round.COURTESY)).by_number
    nothing = replace(advise(Question(CARD, RACK, Round.COURTESY, 0)), by_number=compared, expected=2.0)
    most = max(compared[1:], key=lambda value: value.expected)
    assert key_sentence(nothing) == (
        f"Giving {most.give} at best would cost {2.0 - most.expected:.3f} expected hands."
    )


@pytest.mark.parametrize("round_", list(Round))
def test_every_round_has_one(round_: Round) -> None:
    assert key_sentence(advise(Question(CARD, RACK, round_))).count(". ") == 0
