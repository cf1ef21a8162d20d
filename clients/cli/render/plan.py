"""A plan over several rounds, on a page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clients.cli.render.layout import labelled
from clients.cli.render.words import all_in_words, fine, hands, plain, tokens_in_groups

_TURNS = ("Now", "Next", "Then")


def plan_text(answer: Mapping[str, Any]) -> str:
    """Return the page for an answer of ``POST /v1/plans``.

    Raises:
        KeyError, TypeError, ValueError, AttributeError: the answer does not have that shape.
    """
    lines = []
    for turn, each in enumerate(answer["rounds"]):
        label = _TURNS[turn] if turn < len(_TURNS) else f"Round {turn + 1}"
        lines += labelled(label, tokens_in_groups(each["pass"]))
        lines += labelled("", all_in_words(each["pass"]))
        lines += labelled("", f"{hands(each['expected_hands'])} expected hands once they have gone")
    proof, total = answer["proof"], answer["total"]
    if proof["status"] == "optimal":
        says = f"proved best: no plan adds up to more, to within {plain(proof['resolution'])} of a hand"
    else:
        says = (
            f"not proved: the work allowed ran out; the best there can be is {hands(total + proof['gap'])}, "
            f"which is {fine(proof['gap'])} more"
        )
    return "\n".join([*lines, "", *labelled("Sum", hands(total)), *labelled("Proof", says)])
