"""The two practice cards, chosen by search from the shapes of stated ideas (`card_ideas`), and written.

Run: python -m tests.benchmarks.make_cards full --file patterns/cards/full.toml
     python -m tests.benchmarks.make_cards other --file FOLDER

The search exchanges one hand for another, again and again, and keeps what brings the card nearer to its aims:
how near a drill ends, which tiles go at the first pass, and that every family and every hand is the best one
on some racks. It plays the drills by a quick rule of thumb; `card_figures` plays them by the advice, on deals
that no search has seen.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import chain, islice
from pathlib import Path
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card, Target
from patterns.card_file import card_from_toml
from patterns.expand import expand
from patterns.faults import FaultyInputError
from patterns.notation import parse_groups
from patterns.rack import Rack
from patterns.tiles import DRAGONS, KINDS, WINDS, Tile
from solver.arrivals import Arrivals, Length
from solver.rounds import PASS_SIZE
from solver.situation import N_NATURALS, Situation, counts_of, tables_of
from tests.benchmarks.card_ideas import FULL, SMALL, Family, faults_of, ranks_of, suits_of

SEED = 20_261_128
# Tiles to come at the first pass, as fitted when the cards were made: what is fitted later must not make
# other cards.
COMING = Arrivals(9, (Length(12, 8, 0.8), Length(24, 0, 0.2)))
# Racks for the search and for its last step, and how often a hand is then to be the best.
_RACKS, _MANY_RACKS, _SELDOM, _SOMETIMES = 1_500, 4_000, 3, 6


@dataclass(frozen=True)
class Aims:
    """What a card should come to, in the terms of the search.

    Attributes:
        away: Least and greatest mean of tiles away when a drill ends, as the rule of thumb plays it.
        winds: Greatest share of lone winds kept at the first pass.
        dragons: The same of lone dragons.
        sizes: Fewest and most hands in a family.
        lone_first: Whether all shapes without numbers are among those drawn.
        start: Which start of the seed made the card that ships, after how many steps.
        most: Greatest share of racks on which a family is the best; the least is 5 %.
    """

    title: str
    opening: str
    families: tuple[Family, ...]
    hands: int
    targets: int
    concealed: int
    pairs_only: int
    away: tuple[float, float]
    sizes: tuple[int, int]
    winds: float = 0.16
    dragons: float = 0.04
    most: float = 0.15
    lone_first: bool = False
    start: int = 1
    steps: int = 1_500


AIMS = {
    "full": Aims(
        "Harbor Town",
        "# The full practice card, invented for threepass.",
        FULL,
        60,
        2_950,
        7,
        2,
        (3.5, 3.7),
        (4, 7),
        lone_first=True,
        start=2,
        steps=4_500,
    ),
    "small": Aims(
        "Orchard",
        "# A practice card for teaching and for quick trials, invented for threepass.",
        SMALL,
        20,
        900,
        2,
        1,
        (3.8, 4.1),
        (4, 4),
        winds=0.15,
        dragons=0.1,
        most=0.22,
    ),
}


# Shapes that may be on a card.


@dataclass(frozen=True, eq=False)
class Shape:
    """A hand without a name.

    Attributes:
        n: Values of n, ascending without a gap; empty when there is no n in the groups.
        limited: Whether these are fewer than the groups allow.
    """

    family: int
    groups: tuple[str, ...]
    n: tuple[int, ...]
    limited: bool
    targets: tuple[Target, ...]

    @property
    def concealed(self) -> bool:
        """Pairs and singles make most of it: such a hand is played without showing anything."""
        return sum(group.count for group in self.targets[0].groups if group.count < 3) >= 8

    def written(self, name: str, family: str) -> str:
        """Return the hand as the card file has it."""
        texts = [f'"{text}"' for text in self.groups]
        groups = texts[0] if len(texts) == 1 else "[\n    " + ",\n    ".join(texts) + ",\n]"
        lines = ["[[hand]]", f'name = "{name}"', f'family = "{family}"', f"groups = {groups}"]
        if self.limited:
            lines.append(f'where = "n in {self.n[0]}..{self.n[-1]}"')
        return "\n".join([*lines, *(["concealed = true"] if self.concealed else [])])


def _allowed(text: str, where: tuple[int, ...] | None) -> list[Target]:
    """Return the targets of one alternative, or none if there are none or one may not be on a card."""
    try:
        targets = expand(parse_groups(text), where)
    except FaultyInputError:
        return []
    return [] if any(map(faults_of, targets)) else targets


def shape_of(family: int, groups: tuple[str, ...]) -> Shape | None:
    """Return a shape with as much of it as may be on a card, or None when that is too little."""
    if any(tile.startswith(("n", "(n")) for text in groups for tile in text.split()):
        some = {n: [_allowed(text, (n,)) for text in groups] for n in range(1, 10)}
        found = {n: list(chain.from_iterable(parts)) for n, parts in some.items() if all(parts)}
        fitting = 9 - max(int(rank) for rank in ("0", *re.findall(r"n\+(\d)", " ".join(groups))))
        runs = [tuple(range(a, b + 1)) for a in found for b in found if b - a > 2]
        runs = [run for run in runs if found.keys() >= set(run)]
        if not runs:
            return None
        longest = max(runs, key=len)
        targets = [target for n in longest for target in found[n]]
        limited = len(longest) < fitting
    else:
        written = {text: targets for text in groups if (targets := _allowed(text, None))}
        groups, longest, limited = tuple(written), (), False
        targets = [target for some in written.values() for target in some]
    distinct = {target.needs: target for target in targets}
    if not 12 <= len(distinct) <= 72:
        return None
    return Shape(family, groups, longest, limited, tuple(distinct.values()))


def pool_of(aims: Aims, each: int, rng: np.random.Generator) -> list[Shape]:
    """Return so many shapes of every family, drawn evenly from all that may be."""
    pool: list[Shape] = []
    for family, idea in enumerate(aims.families):
        written = sorted(set(idea.shapes()))
        drawn = [written[index] for index in rng.permutation(len(written))]
        if aims.lone_first:
            drawn.sort(key=lambda groups: bool(re.search(r"[n\d)]p\*", groups[0])))
        found = (shape_of(family, groups) for groups in drawn)
        pool += list(islice((shape for shape in found if shape), each))
    return pool


def card_of(shapes: Sequence[Shape], aims: Aims) -> tuple[str, Card]:
    """Return the text of a card of some shapes, and the card."""
    blocks = [f'[card]\nname = "{aims.title}"\nschema_version = 1']
    for index, family in enumerate(aims.families):
        blocks.append(f"# {family.name}: {family.idea[0].lower()}{family.idea[1:]}.")
        names = family.hands.split(", ")
        members = [shape for shape in shapes if shape.family == index]
        blocks += [shape.written(name, family.name) for name, shape in zip(names, members, strict=False)]
    text = "\n\n".join([aims.opening, *blocks]) + "\n"
    return text, card_from_toml(text, "card")


# The search.


@dataclass(frozen=True, eq=False)
class Pool:
    """Shapes, and what the search knows of each.

    Attributes:
        rows: First target of each shape among all, and behind the last.
        plain: (T, 35) wanted in singles and pairs.
        grouped: (T, 35) wanted in groups.
        reach: (racks, shapes) of random racks before the first pass.
    """

    shapes: list[Shape]
    rows: NDArray[np.intp]
    plain: NDArray[np.float32]
    grouped: NDArray[np.float32]
    reach: NDArray[np.float64]


def shuffled(count: int, rng: np.random.Generator) -> list[list[Tile]]:
    """Return so many shuffles of the whole set."""
    wall = [tile for tile in KINDS for _ in range(tile.copies)]
    return [[wall[index] for index in rng.permutation(len(wall))] for _ in range(count)]


def measured(shapes: list[Shape], racks: int, rng: np.random.Generator) -> Pool:
    """Work out the reach of every shape on random racks."""
    situations = [Situation(Rack(tuple(order[:14])), (), COMING) for order in shuffled(racks, rng)]
    plain, grouped, reach, sizes = [], [], [], [0]
    for start in range(0, len(shapes), 60):
        part = shapes[start : start + 60]
        text = "\n".join(shape.written(f"h{i}", "f") for i, shape in enumerate(part))
        tables = tables_of(card_from_toml(f'[card]\nname = "part"\n{text}', "part"))
        plain.append(tables.plain)
        grouped.append(tables.grouped)
        sizes += [len(hand.targets) for hand in tables.card.hands]
        starts = tables.first_of_hand()
        found = [np.maximum.reduceat(each.reach(tables, each.held), starts) for each in situations]
        reach.append(np.array(found))
        print(f"\r{start + len(part)}/{len(shapes)} shapes", end="", file=sys.stderr)
    print(file=sys.stderr)
    to_float = [np.concatenate(each).astype(np.float32) for each in (plain, grouped)]
    return Pool(shapes, np.cumsum(sizes), *to_float, np.concatenate(reach, axis=1))


class Drills:
    """Drills of all seven exchanges played by a rule of thumb, all at once.

    A tile is worth the targets that want it, each weighted by 0.3 to the power of the tiles that it lacks.
    The three worth least go.
    """

    _MOST = 8

    def __init__(self, count: int, rng: np.random.Generator) -> None:
        orders = shuffled(count, rng)
        self._racks = np.array([counts_of(order[:14]) for order in orders], np.int64)
        heaps = [[tile.position for tile in order[14:] if tile is not Tile.JOKER] for order in orders]
        self._heaps = np.array([heap[:21] for heap in heaps])

    def play(self, plain: NDArray[np.float32], grouped: NDArray[np.float32]) -> tuple[float, float, float]:
        """Return the mean of tiles away at the end, and the shares of lone winds and dragons kept."""
        held, jokers = self._racks[:, :N_NATURALS].copy(), self._racks[:, N_NATURALS]
        copies = np.arange(self._MOST + 1)
        # (kind, copies held, targets): what is lacking, flattened for one product.
        lack_plain = np.maximum(plain.T[:, None, :] - copies[None, :, None], 0)
        left = np.maximum(copies[None, :, None] - plain.T[:, None, :], 0)
        lack_grouped = np.maximum(grouped.T[:, None, :] - left, 0)
        wanted = ((plain + grouped).T[:, None, :] >= copies[None, 1:, None]).astype(np.float32)
        flat = [
            each.reshape(-1, each.shape[-1]).astype(np.float32) for each in (lack_plain, lack_grouped, wanted)
        ]
        kept: list[float] = []
        for exchange in range(7):
            weight = 0.3 ** self._away(held, jokers, flat)
            worth = (weight.astype(np.float32) @ flat[2].T).reshape(len(held), N_NATURALS, self._MOST)
            worth[copies[None, None, 1:] > held[:, :, None]] = np.inf
            # The upper copies of a kind are worth no more than the lower ones; of equals they go first.
            worth += np.arange(self._MOST)[::-1] * np.float32(1e-6)
            going = np.argsort(worth.reshape(len(held), -1), axis=1)[:, :PASS_SIZE] // self._MOST
            after = held.copy()
            np.subtract.at(after, (np.arange(len(held))[:, None], going), 1)
            if not exchange:
                kept = [
                    float((after[:, kinds] == 1)[held[:, kinds] == 1].mean())
                    for kinds in ([tile.position for tile in WINDS], [tile.position for tile in DRAGONS])
                ]
            held = after
            came = self._heaps[:, 3 * exchange : 3 * exchange + 3]
            np.add.at(held, (np.arange(len(held))[:, None], came), 1)
        return float(self._away(held, jokers, flat).min(axis=1).mean()), kept[0], kept[1]

    def _away(
        self, held: NDArray[np.int64], jokers: NDArray[np.int64], flat: list[NDArray[np.float32]]
    ) -> NDArray[np.float32]:
        """Return (drills, targets) tiles away."""
        hot = np.zeros((len(held), N_NATURALS, self._MOST + 1), np.float32)
        np.put_along_axis(hot, held[:, :, None], np.float32(1), axis=2)
        rows = hot.reshape(len(held), -1)
        away: NDArray[np.float32] = rows @ flat[0] + np.maximum(
            rows @ flat[1] - jokers[:, None].astype(np.float32), 0
        )
        return away


def loss_of(chosen: Sequence[int], pool: Pool, drills: Drills, aims: Aims, limit: float = np.inf) -> float:
    """Return what the search brings down; drills are played only as long as it may be below a limit."""
    shapes = [pool.shapes[i] for i in chosen]
    needs = [target.needs for shape in shapes for target in shape.targets]
    counts = np.bincount(pool.reach[:, chosen].argmax(axis=1), minlength=len(chosen)) / len(pool.reach)
    families = np.array([shape.family for shape in shapes])
    shares = np.array([counts[families == family].sum() for family in range(len(aims.families))])
    idle = int((counts < 0.0015).sum())
    loss = float(
        20 * (np.maximum(shares - aims.most, 0).sum() + np.maximum(0.05 - shares, 0).sum())
        + 0.2 * idle
        + max(0, len(needs) - aims.targets) / 50
        + 0.2 * max(0, aims.concealed - sum(shape.concealed for shape in shapes))
        + (len(needs) - len(set(needs)))
        + 0.3 * len(missing_traits(shapes))
        + 0.5 * max(0, aims.pairs_only - sum(map(pairs_only, shapes)))
        + 0.15 * (len(shapes) - len({alike(shape) for shape in shapes}))
    )
    if loss > limit:
        return loss
    at = np.concatenate([np.arange(pool.rows[i], pool.rows[i + 1]) for i in chosen])
    away, winds, dragons = drills.play(pool.plain[at], pool.grouped[at])
    loss += 4 * (max(0, away - aims.away[1]) + max(0, aims.away[0] - away))
    return loss + 8 * (max(0, winds - aims.winds) + max(0, dragons - aims.dragons))


def pairs_only(shape: Shape) -> bool:
    """Return whether a shape has no group of three or more."""
    return all(group.count <= 2 for group in shape.targets[0].groups)


def alike(shape: Shape) -> frozenset[str]:
    """Return a shape's tiles without their sizes: two hands that differ in sizes only are too much alike."""
    return frozenset(re.sub(r"\*\d", "", text) for text in shape.groups)


def missing_traits(shapes: Iterable[Shape]) -> set[str]:
    """Return what a player may filter on and none of the shapes is."""
    first = [shape.targets[0] for shape in shapes]
    tests: dict[str, Callable[[Target], bool]] = {
        "big-groups": lambda target: any(group.count >= 5 for group in target.groups),
        "no-flowers": lambda target: all(group.tile is not Tile.FLOWER for group in target.groups),
        "winds-dragons-only": lambda target: not ranks_of(target),
        "one-suit": lambda target: len(suits_of(target)) == 1,
        "three-suits": lambda target: len(suits_of(target)) == 3,
    }
    return {name for name, test in tests.items() if not any(map(test, first))}


def search(pool: Pool, drills: Drills, aims: Aims, steps: int, rng: np.random.Generator) -> list[int]:
    """Return a choice of shapes that nothing tried is better than.

    A step puts another shape in the place of one, mostly of its family. What goes is a hand that is seldom
    the best, for one that would be, or else a hand that is best too often, for any other.
    """
    of = np.array([shape.family for shape in pool.shapes])
    families = range(len(aims.families))
    first = [rng.permutation(np.flatnonzero(of == family)) for family in families]
    chosen = [int(first[turn % len(first)][turn // len(first)]) for turn in range(aims.hands)]
    now = loss_of(chosen, pool, drills, aims)
    for step in range(steps):
        best = pool.reach[:, chosen]
        counts = np.bincount(best.argmax(axis=1), minlength=len(chosen))
        idle = rng.random() < 0.5
        odds = 1 / (counts + 4.0) if idle else counts + 1.0
        out = int(rng.choice(len(chosen), p=odds / odds.sum()))
        family = of[chosen[out]]
        sizes = np.bincount(of[chosen], minlength=len(families))
        if rng.random() < 0.25 and sizes[family] > aims.sizes[0]:
            shares = np.bincount(of[chosen], weights=counts, minlength=len(families)) / len(best)
            odds = np.where(sizes < aims.sizes[1], 1 / (shares + 0.02), 0.0)
            family = rng.choice(len(odds), p=odds / odds.sum())
        others = np.setdiff1d(np.flatnonzero(of == family), chosen)
        would = (pool.reach[:, others] > best.max(axis=1)[:, None]).sum(axis=0) + 2.0
        odds = would if idle else np.ones(len(others))
        tried = [*chosen[:out], int(rng.choice(others, p=odds / odds.sum())), *chosen[out + 1 :]]
        found = loss_of(tried, pool, drills, aims, now)
        if found <= now:
            chosen, now = tried, found
        if step % 200 == 0:
            print(f"{step}: loss {now:.3f}", file=sys.stderr, flush=True)
    return chosen


def without_idle(chosen: Sequence[int], pool: Pool, drills: Drills, aims: Aims) -> list[int]:
    """Put others of the family in the place of hands that are hardly ever the best.

    Of those that would be it often enough, the one that would be it least often is tried first. The pool is
    valued on more racks than the search had, and the aims must not get worse.
    """
    # Which of two equally likely hands is the best hangs on their order, which is now the card's.
    chosen = sorted(chosen)
    loss = loss_of(chosen, pool, drills, aims)
    counts = np.bincount(pool.reach[:, chosen].argmax(axis=1), minlength=len(chosen))
    for out in np.array(chosen)[counts < _SELDOM].tolist():
        idle, place = pool.shapes[out], chosen.index(out)
        best = np.delete(pool.reach[:, chosen], place, axis=1).max(axis=1)
        would = (pool.reach > best[:, None]).sum(axis=0)
        for other in np.argsort(would, kind="stable").tolist():
            shape = pool.shapes[other]
            of_a_kind = (shape.family, pairs_only(shape)) == (idle.family, pairs_only(idle))
            if would[other] < _SOMETIMES or not of_a_kind or other in chosen:
                continue
            tried = sorted([*chosen[:place], other, *chosen[place + 1 :]])
            found = loss_of(tried, pool, drills, aims, loss)
            if found <= loss:
                chosen, loss = tried, found
                break
    return chosen


# Cards of other kinds, to see whether odds hold where nothing was fitted: hands drawn evenly, by a seed a
# card, from all shapes that fit the card's rule. Nothing is searched: such cards are as uneven as may be.


def _plain(shape: Shape) -> int:
    """Return how many tiles of a shape are in singles and pairs."""
    return sum(group.count for group in shape.targets[0].groups if group.count < 3)


def _one_in(many: int) -> Callable[[Shape], bool]:
    """Take one shape in so many, told by what is written of it."""
    return lambda shape: crc32(shape.written("a", "b").encode()) % many == 0


@dataclass(frozen=True)
class Kind:
    """A kind of card: its size, its rule, and which of its hands are concealed."""

    title: str
    seed: int
    hands: int
    fits: Callable[[Shape], bool] = lambda _: True
    hides: Callable[[Shape], bool] = lambda shape: shape.concealed


KINDS_OF_CARDS = {
    "few": Kind("Eight of all ideas", 11, 8),
    "many": Kind("Ninety of all ideas", 12, 90),
    "grouped": Kind("Groups and at most one pair", 13, 30, lambda shape: _plain(shape) <= 2),
    "paired": Kind("Six tiles or more in singles and pairs", 14, 24, lambda shape: _plain(shape) >= 6),
    "hidden": Kind("Every hand concealed", 15, 40, hides=lambda _: True),
    "mixed": Kind("A third concealed", 31, 45, hides=_one_in(3)),
    "veiled": Kind("Every hand concealed, twenty", 32, 20, hides=lambda _: True),
    "open": Kind("Nothing concealed", 33, 25, hides=lambda _: False),
    "half": Kind("Half concealed", 41, 30, hides=_one_in(2)),
    "seven": Kind("Seven hands, nothing concealed", 42, 7, hides=lambda _: False),
    "wide": Kind("Fifty-five hands", 43, 55),
}


def written(kind: Kind) -> str:
    """Return a card of one kind as TOML text."""
    rng = np.random.default_rng(kind.seed)
    pool = [shape for shape in pool_of(AIMS["full"], 40, rng) if kind.fits(shape)]
    chosen = sorted(rng.choice(len(pool), kind.hands, replace=False).tolist())
    blocks = [f'[card]\nname = "{kind.title}"']
    for number, index in enumerate(chosen, start=1):
        shape = pool[index]
        text = shape.written(f"Hand {number}", FULL[shape.family].name).replace("\nconcealed = true", "")
        blocks.append(text + ("\nconcealed = true" if kind.hides(shape) else ""))
    return "\n\n".join(blocks) + "\n"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("card", choices=[*AIMS, "other"])
    parser.add_argument("--steps", type=int, help="exchanges tried; by default as for the card that ships")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--start", type=int, help="which of the starts of that seed")
    parser.add_argument("--file", type=Path)
    asked = parser.parse_args()
    if asked.card == "other":
        asked.file.mkdir(parents=True, exist_ok=True)
        for name, kind in KINDS_OF_CARDS.items():
            (asked.file / f"{name}.toml").write_text(written(kind), encoding="utf-8")
        return
    aims = AIMS[asked.card]
    rng = np.random.default_rng(asked.seed)
    pool = measured(pool_of(aims, 60, rng), _RACKS, rng)
    rng = np.random.default_rng((asked.seed, aims.start if asked.start is None else asked.start))
    drills = Drills(250, rng)
    chosen = search(pool, drills, aims, asked.steps or aims.steps, rng)
    chosen = without_idle(chosen, measured(pool.shapes, _MANY_RACKS, rng), drills, aims)
    text, card = card_of([pool.shapes[i] for i in chosen], aims)
    print(f"{len(card.hands)} hands, {card.target_count} targets of {len(pool.shapes)} shapes")
    if asked.file:
        asked.file.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
