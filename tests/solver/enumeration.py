"""Every pass of a rack counted out apart from table and model, and answers held against that.

Each pass is scored straight from what its kept tiles leave every target lacking; limits are checked by
rules written here once more. Reach itself is held against exact rationals elsewhere.
"""

import random
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

import solver.situation
from patterns.card import Card, Trait
from patterns.faults import FaultyInputError
from patterns.rack import Rack
from patterns.tiles import Tile
from solver.advice import Advice, ClashError, advise
from solver.limits import LIMITS, AtLeast, Choice, Limit, Limits, Sort, hand_weights
from solver.situation import N_NATURALS, Objective, Question, counts_of, tables_of

Pass = tuple[Tile, ...]


def every_pass(held: Iterable[Tile], size: int) -> list[Pass]:
    """Return every distinct pass of so many naturals, in the fixed order of tiles."""
    naturals = sorted((tile for tile in held if tile is not Tile.JOKER), key=lambda tile: tile.position)
    return sorted(set(combinations(naturals, size)), key=lambda p: [tile.position for tile in p])


@dataclass(frozen=True, eq=False)
class Enumeration:
    """All passes of a question's rack, whatever its limits, and (passes, hands) reach of every hand then."""

    question: Question
    passes: list[Pass]
    reach: np.ndarray

    @classmethod
    def of(cls, question: Question) -> "Enumeration":
        """Count out every distinct pass of as many naturals as the question gives."""
        passes = every_pass(question.rack.tiles, question.tiles_given)
        tables, situation = tables_of(question.card), question.situation
        kept = situation.held - np.array([counts_of(passed)[:N_NATURALS] for passed in passes])
        reach = situation.reach(tables, kept)
        return cls(question, passes, np.maximum.reduceat(reach, tables.first_of_hand(), axis=1))

    def worth(self, limits: Limits) -> dict[Pass, float]:
        """Return the strength that each pass leaves that keeps some limits, best first."""
        weights = hand_weights(self.question.card, limits)
        power = 1 if self.question.objective is Objective.SUM else solver.situation.POWER
        values = np.where(weights > 0, self.reach, 0) ** power @ weights
        order = np.argsort(-values, kind="stable").tolist()
        return {
            self.passes[i]: float(values[i])
            for i in order
            if all(self.keeps(limit, i, weights) for limit in limits.on_pass)
        }

    def keeps(self, limit: Limit, index: int, weights: np.ndarray) -> bool:
        passed, held = Counter(self.passes[index]), Counter(self.question.rack.tiles)
        suited = [(tile.suit, tile.rank) for tile in passed.elements() if tile.rank is not None]
        match limit.name:
            case "stay":
                return (held - passed)[limit.tile] >= limit.copies
            case "go":
                return passed[limit.tile] >= limit.copies
            case "no_pairs":
                return len(passed) == passed.total()
            case "no_flowers":
                return Tile.FLOWER not in passed
            case "no_neighbors":
                return not any((suit, rank + 1) in suited for suit, rank in suited)
            case "no_like_numbers":
                return all(sum(rank == each for _, rank in suited) < 3 for each in range(1, 10))
        hands = self.question.card.hands
        enough = [
            hand
            for hand, weight, reach in zip(hands, weights, self.reach[index], strict=True)
            if weight > 0 and reach >= limit.wanted.reach
        ]
        found = {"keep_hands": {h.name for h in enough}, "keep_families": {h.family for h in enough}}
        return len(found[limit.name]) >= limit.wanted.count


def check_answer(found: Enumeration, limits: Limits, wanted: int = 3) -> Advice | None:
    """Check the best pass and the runner-ups, or the clash, against all passes; return the answer."""
    asked = replace(found.question, limits=limits, alternatives=wanted)
    worth = found.worth(limits)
    try:
        answer = advise(asked)
    except ClashError as error:
        assert not worth
        check_clash(found, limits, error.clashing)
        return None
    weights = hand_weights(asked.card, limits)
    assert answer.resolution <= 1e-12 * len(weights) * weights.max() * (1 + 1e-9)
    best = list(worth.values())
    named = [answer.passed, *(other.passed for other in answer.runner_ups)]
    assert len(named) == len(set(named)) == min(1 + wanted, len(worth))
    values = [answer.strength, *(other.strength for other in answer.runner_ups)]
    for passed, value, right in zip(named, values, best, strict=False):
        assert abs(value - worth[passed]) <= 1e-11 * max(1.0, value)
        assert abs(value - right) <= answer.resolution + 1e-13 * value
    if limits.on_pass:
        free = max(found.worth(replace(limits, on_pass=())).values())
        assert answer.limits_cost is not None
        assert abs(answer.limits_cost.strength - (free - best[0])) <= 1e-11 * max(1.0, free)
        assert abs(answer.limits_cost.share * free - answer.limits_cost.strength) <= 1e-11 * max(1.0, free)
    else:
        assert answer.limits_cost is None
    return answer


def check_clash(found: Enumeration, limits: Limits, clashing: tuple[Limit, ...]) -> None:
    """Check that no pass keeps the clashing limits, and that some pass keeps any fewer of them."""
    assert clashing
    assert set(clashing) <= set(limits.on_pass)
    weights = hand_weights(found.question.card, limits)

    def possible(some: tuple[Limit, ...]) -> bool:
        return any(
            all(found.keeps(limit, index, weights) for limit in some) for index in range(len(found.passes))
        )

    assert not possible(clashing)
    assert all(possible(fewer) for fewer in combinations(clashing, len(clashing) - 1))


def _choice(rnd: random.Random, card: Card) -> Choice:
    sort = rnd.choice(("families", "hands", "traits"))
    if sort == "families":
        return Choice(families=tuple(rnd.sample(card.families, 2)))
    if sort == "hands":
        return Choice(hands=tuple(hand.name for hand in rnd.sample(card.hands, 5)))
    return Choice(traits=tuple(rnd.sample(list(Trait), 2)))


def random_limits(rnd: random.Random, card: Card, rack: Rack) -> Limits:
    """Return one to four random limits, which may contradict but leave a hand that counts."""
    naturals = [tile for tile in rack.tiles if tile is not Tile.JOKER]
    settings: dict[str, object] = {}
    names = [limit.name for limit in LIMITS]
    sorts = {limit.name: limit.sort for limit in LIMITS}
    for part in rnd.sample([*names, "only", "without", "weights"], rnd.randint(1, 4)):
        if part in ("only", "without"):
            settings[part] = _choice(rnd, card)
        elif part == "weights":
            hands = [hand.name for hand in rnd.sample(card.hands, 6)]
            settings[part] = tuple((name, rnd.choice((0.0, 0.5, 2.0, 7.25))) for name in hands)
        elif part == "go":
            settings[part] = tuple(rnd.sample(naturals, rnd.randint(1, 2)))
        elif sorts[part] is Sort.TILES:
            settings[part] = tuple(rnd.sample(rack.tiles, rnd.randint(1, 6)))
        elif sorts[part] is Sort.AT_LEAST:
            settings[part] = AtLeast(rnd.randint(1, 5), float(np.round(10 ** rnd.uniform(-4, -0.7), 6)))
        else:
            settings[part] = True
    limits = Limits.of(**settings)
    try:
        hand_weights(card, limits)
    except FaultyInputError:
        return random_limits(rnd, card, rack)
    return limits
