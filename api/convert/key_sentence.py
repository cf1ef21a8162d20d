"""Why a pass is best, in one sentence of an answer key: what the runner-up would cost."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from api.convert.sentences import hands, percent
from patterns.tiles import Tile
from solver.advice import Advice, RunnerUp
from solver.limits import hand_weights
from solver.passes import scores
from solver.review import reasons
from solver.situation import tables_of


def key_sentence(advice: Advice) -> str:
    """Say why the best pass is better than the next one, or what else would be as good."""
    if not advice.runner_ups:
        return _without_runner_up(advice)
    other = advice.runner_ups[0]
    swap = _swap(advice.passed, other.passed)
    if other.gap <= advice.proof.resolution:
        return f"{swap} would be worth the same: either will do."
    costs = f"{swap} would cost {hands(other.gap)} expected hands"
    kept = _kept_better(advice, other)
    return f"{costs}: it leaves {kept}." if kept else f"{costs}."


def _without_runner_up(advice: Advice) -> str:
    rest = [value for value in advice.by_number if value.give != len(advice.passed)]
    if rest:
        next_best = max(rest, key=lambda value: value.expected)
        lost = hands(max(0.0, advice.expected - next_best.expected))
        return f"Giving {next_best.give} at best would cost {lost} expected hands."
    return "It is the only pass that was found." if advice.closeness is None else "No other pass is allowed."


def _swap(best: Iterable[Tile], other: Iterable[Tile]) -> str:
    ours, theirs = Counter(best), Counter(other)
    return f"Giving {_words(theirs - ours)} in place of {_words(ours - theirs)}"


def _words(tiles: Counter[Tile]) -> str:
    words = [
        tile.word if count == 1 else f"{tile.word} twice" if count == 2 else f"{tile.word} {count} times"
        for tile, count in sorted(tiles.items(), key=lambda item: item[0].position)
    ]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def _kept_better(advice: Advice, other: RunnerUp) -> str:
    question = advice.question.giving(len(advice.passed))
    weights = hand_weights(question.card, question.limits)
    best, next_best = scores(
        question.situation, tables_of(question.card), weights, [advice.passed, other.passed]
    )
    kept = [
        f"{reason.hand.name} at {worse} instead of {better}"
        for reason in reasons(question.card, weights, best, next_best)
        if (better := percent(reason.before)) != (worse := percent(reason.after))
    ]
    return " and ".join(kept[:2])
