"""A hand is counted at one option at most, and only at one that the pass leaves."""

from __future__ import annotations

from itertools import groupby

from solver.terms.variables import Variables


def add_hand_options(variables: Variables) -> None:
    """Tie each option to the bits it forbids; the order of copies makes the lowest of a kind enough."""
    bits, model = variables.bits, variables.model
    kept = [boolean.Not() for boolean in variables.passed]
    whole = [(bits.up_to(index, count), index) for index, count in enumerate(bits.counts)]
    for chosen, forbidden in zip(variables.chosen, variables.options.forbidden.tolist(), strict=True):
        for kind, _ in whole:
            if touched := forbidden & kind:
                model.add_implication(chosen, kept[(touched & -touched).bit_length() - 1])
    hands = zip(variables.options.hand.tolist(), variables.chosen, strict=True)
    for _, of_hand in groupby(hands, key=lambda pair: pair[0]):
        model.add_at_most_one([chosen for _, chosen in of_hand])
