"""A hand is counted at one option at most, and only at one that the pass leaves."""

from __future__ import annotations

from itertools import groupby

from solver.terms.variables import Variables


def add_hand_options(variables: Variables) -> None:
    """Let one thing at most be true of each hand's options and of each tile that some of them forbid.

    Of a kind's copies the lower go first, so the lowest that an option forbids is enough; and options that
    forbid a lower one cannot stand beside a higher one either, so they are in its clique too.
    """
    bits, model = variables.bits, variables.model
    whole = [bits.up_to(index, count) for index, count in enumerate(bits.counts)]
    options = zip(
        variables.options.hand.tolist(),
        variables.options.forbidden.tolist(),
        variables.chosen,
        strict=True,
    )
    for _, group in groupby(options, key=lambda option: option[0]):
        of_hand = [(forbidden, chosen) for _, forbidden, chosen in group]
        model.add_at_most_one([chosen for _, chosen in of_hand])
        for kind in whole:
            lowest = [
                (touched & -touched, chosen) for forbidden, chosen in of_hand if (touched := forbidden & kind)
            ]
            for copy in sorted({least for least, _ in lowest}):
                clashing = [chosen for least, chosen in lowest if least <= copy]
                model.add_at_most_one([variables.passed[copy.bit_length() - 1], *clashing])
