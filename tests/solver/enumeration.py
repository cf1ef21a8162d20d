"""Every pass of a rack with what it leaves, fast, without options and without CP-SAT.

It uses the solver's reach (proved elsewhere) on exact losses: the signature of a target changes, kind by
kind, with what a pass takes away. A test compares it with the slow cross-check `solver.exact`.
"""

from collections import Counter
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from patterns.tiles import Suit, Tile
from solver.card_tables import tables_of
from solver.limits import Limits, hand_weights
from solver.question import Question
from solver.rack_bits import RackBits
from solver.reach.evaluate import Demands, reach_of
from solver.reach.states import OWN_NUMBER, REST_NUMBER, Missing, missing
from solver.terms.limit import Outcome


@dataclass(frozen=True, eq=False)
class Enumeration:
    """All passes of a question's rack, whatever its limits.

    Attributes:
        passes: Each in the fixed order of tiles.
        reach: (passes, hands) reach of every hand of the card afterwards.
    """

    question: Question
    passes: list[tuple[Tile, ...]]
    reach: np.ndarray

    def worth(self, limits: Limits) -> dict[tuple[Tile, ...], float]:
        """Return the expected hands of each pass that keeps some limits, best first."""
        weights = hand_weights(self.question.card, limits)
        values = np.where(weights > 0, self.reach, 0) @ weights
        order = np.argsort(-values, kind="stable").tolist()
        return {self.passes[i]: float(values[i]) for i in order if self.keeps(limits, i, weights)}

    def keeps(self, limits: Limits, index: int, weights: np.ndarray) -> bool:
        """Return whether a pass keeps the limits, written apart from the solver's own checks."""
        passed, held = Counter(self.passes[index]), Counter(self.question.rack.tiles)
        left = held - passed
        if Counter(limits.stay) - left or Counter(limits.go) - passed:
            return False
        if limits.no_pairs and len(passed) < passed.total():
            return False
        if limits.no_flowers and Tile.FLOWER in passed:
            return False
        if limits.no_neighbours:
            for suit in Suit:
                ranks = {tile.rank for tile in passed if tile.suit is suit}
                if any(rank + 1 in ranks for rank in ranks):
                    return False
        reach = self.reach[index]
        for wanted, what in ((limits.keep_hands, "hand"), (limits.keep_families, "family")):
            if wanted is not None:
                hands = self.question.card.hands
                enough = [
                    h for h, w, r in zip(hands, weights, reach, strict=True) if w > 0 and r >= wanted.reach
                ]
                found = len(enough) if what == "hand" else len({hand.family for hand in enough})
                if found < wanted.count:
                    return False
        return True

    def outcome(self, limits: Limits, index: int) -> Outcome:
        """Return what a pass leaves, as the solver's own limits see it."""
        hands = self.question.card.hands
        reach = np.where(hand_weights(self.question.card, limits) > 0, self.reach[index], 0)
        families = tuple(hand.family for hand in hands)
        return Outcome(Counter(self.passes[index]), Counter(self.question.rack.tiles), reach, families)


def mask_of(bits: RackBits, passed: tuple[Tile, ...]) -> int:
    """Return the bits of a pass."""
    return sum(bits.up_to(kind, passed.count(tile)) for kind, tile in enumerate(bits.kinds))


def enumerate_passes(question: Question) -> Enumeration:
    """Return every distinct pass of as many naturals as the question gives, with the reach it leaves."""
    tables, situation = tables_of(question.card), question.situation
    naturals = [tile for tile in question.rack.tiles if tile is not Tile.JOKER]
    passes = sorted(
        set(combinations(naturals, question.tiles_given)), key=lambda p: [tile.position for tile in p]
    )
    kinds = sorted(set(naturals), key=lambda tile: tile.position)
    at = np.array([tile.position for tile in kinds])
    held, unseen = situation.held, situation.unseen[:35]

    lost = np.arange(4)
    plain, grouped = tables.plain[:, at, None], tables.grouped[:, at, None]
    after = missing(plain, grouped, np.maximum(held[at][:, None] - lost, 0).astype(np.int8))
    index = (after.plain, after.grouped, np.broadcast_to(unseen[at][:, None], after.plain.shape))
    whole = missing(tables.plain, tables.grouped, held)
    base = (whole.plain, whole.grouped, np.broadcast_to(unseen, whole.plain.shape))

    def signature(number: np.ndarray) -> np.ndarray:
        change = number[index] - number[index][:, :, :1]
        total = np.repeat(number[base].sum(axis=1)[:, None], len(passes), axis=1)
        for slot in range(max(map(len, map(set, passes)))):
            gone = [
                sorted(Counter(p).items(), key=lambda item: item[0].position)[slot : slot + 1] for p in passes
            ]
            kind = [kinds.index(one[0][0]) if one else 0 for one in gone]
            copies = [one[0][1] if one else 0 for one in gone]
            total += change[:, kind, copies]
        return total.ravel()

    def lack(rows: np.ndarray) -> Missing:
        target, which = np.divmod(rows, len(passes))
        kept = np.repeat(held[None], len(rows), axis=0)
        for row, number in enumerate(which.tolist()):
            for tile in passes[number]:
                kept[row, tile.position] -= 1
        return missing(tables.plain[target], tables.grouped[target], kept)

    demands = Demands(
        signature(OWN_NUMBER), signature(REST_NUMBER), np.repeat(tables.concealed, len(passes)), lack
    )
    reach = reach_of(demands, situation.outlook, unseen).reshape(-1, len(passes))
    return Enumeration(question, passes, np.maximum.reduceat(reach, tables.first_of_hand(), axis=0).T)
