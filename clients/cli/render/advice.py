"""An answer to a question, on a page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clients.cli.render.assumed import assumed
from clients.cli.render.hand import hand_lines, some_hand_lines
from clients.cli.render.layout import entry, labelled, paragraph
from clients.cli.render.look_ahead import ahead_lines
from clients.cli.render.numbers import number_lines
from clients.cli.render.why import why_lines
from clients.cli.render.words import all_in_words, counted, fine, hands, percent, plain, tokens_in_groups

Answer = Mapping[str, Any]

_CALLS = {
    "only pass": "no choice: no other pass is allowed",
    "even": "a toss-up: the runner-up is worth the same",
    "close": "a close call",
    "fair": "a fair lead",
    "clear": "a clear best",
}


def advice_text(answer: Answer) -> str:
    """Return the page for an answer of ``POST /v1/advice``.

    Raises:
        KeyError, TypeError, ValueError, AttributeError: the answer does not have that shape.
    """
    blocks = [
        _pass(answer),
        _worth(answer),
        number_lines(answer["by_number"], len(answer["pass"])),
        ahead_lines(answer["look_ahead"]),
        _kept(answer),
        _given_up(answer),
        why_lines(answer["why"], answer["pass"]),
        assumed(answer["assumptions"]),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _pass(answer: Answer) -> list[str]:
    passed = answer["pass"]
    return [
        *labelled("Rack", tokens_in_groups(answer["rack"])),
        *labelled("Round", answer["round"].replace("_", " ")),
        *labelled("Pass", tokens_in_groups(passed)),
        *labelled("", all_in_words(passed)),
    ]


def _worth(answer: Answer) -> list[str]:
    before, after = answer["expected_hands_before"], answer["expected_hands"]
    return [
        *labelled("Expected hands", f"{hands(before)} with the whole rack, {hands(after)} after the pass"),
        *some_hand_lines(answer["some_hand"]),
        *labelled("Proof", _proof(answer["proof"])),
        *_call(answer),
    ]


def _proof(proof: Answer) -> str:
    if proof["status"] == "optimal":
        return f"proved best: no pass is worth more, to within {plain(proof['resolution'])} of a hand"
    return (
        f"not proved: the work allowed ran out; the best there can be is {hands(proof['bound'])}, "
        f"which is {fine(proof['gap'])} more"
    )


def _call(answer: Answer) -> list[str]:
    call = answer["call"]
    if call["word"] is None:
        return labelled("Call", "not weighed: no runner-up was asked for")
    says = _CALLS.get(call["word"], call["word"])
    if call["gap"]:
        says += f": the runner-up is worth {fine(call['gap'])} hands less"
        says += f" ({percent(call['share'])})" if call["share"] is not None else ""
    lines = labelled("Call", says)
    for index, other in enumerate(answer["alternatives"]):
        gap = f"{fine(other['gap'])} less" if other["gap"] else "the same"
        worth = f"{hands(other['expected_hands'])}, {gap}"
        label = ("Runners-up" if len(answer["alternatives"]) > 1 else "Runner-up") if index == 0 else ""
        lines += labelled(label, f"{tokens_in_groups(other['pass']):<22}{worth}")
    return lines


def _kept(answer: Answer) -> list[str]:
    kept, total = answer["hands"], answer["hands_in_reach"]
    card = answer["assumptions"]["card"]
    lines = [f"Within reach after the pass: {total} of {counted(card['hands'], 'hand')}"]
    if kept and len(kept) < total:
        lines[0] += f", of which the likeliest {len(kept)}"
    if any(hand["alone"] is not None for hand in kept):
        lines += paragraph("Alone: the chance for a player who from now on goes for that hand only.")
    for hand in kept:
        lines += ["", *hand_lines(hand)]
    return lines


def _given_up(answer: Answer) -> list[str]:
    lost = answer["given_up"]
    if not lost:
        return []
    lines = ["Made less likely by the pass, the greatest loss first"]
    for hand in lost:
        change = f"from {percent(hand['reach_before'])} to {percent(hand['reach'])}"
        lines += entry("-" + percent(hand["lost"]), f"{hand['name']} ({hand['family']})", change)
    return lines
