"""From a question to the model's problem."""

from __future__ import annotations

from solver.card_tables import tables_of
from solver.limits import hand_weights
from solver.options import options_of
from solver.pass_model import PassProblem
from solver.question import Question
from solver.rack_bits import RackBits
from solver.terms.all_limits import limit_terms


def problem_of(question: Question) -> PassProblem:
    """Return the model's problem for a question.

    Raises:
        FaultyInputError: limits that name what the card does not have, or leave no hand.
    """
    tables, situation = tables_of(question.card), question.situation
    weights = hand_weights(question.card, question.limits)
    bits = RackBits.of(situation.held)
    options = options_of(situation, tables, bits, question.tiles_given, weights > 0)
    return PassProblem(
        bits,
        options,
        weights,
        question.card.family_of_hand,
        question.tiles_given,
        limit_terms(question.limits),
    )
