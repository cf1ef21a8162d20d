"""Cards of other kinds than the practice cards, by rule: to see whether odds hold where nothing was fitted.

Run: python -m tests.benchmarks.other_cards FOLDER

Hands are drawn evenly, by a seed a card, from all shapes of the ideas of the full practice card that fit the
card's rule (`KINDS_OF_CARDS`). Nothing is searched or balanced: cards so made are as uneven as a card may be.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.benchmarks.card_ideas import FULL
from tests.benchmarks.make_cards import AIMS, Shape, pool_of

# Shapes drawn of each family, of which a card takes what fits its rule.
_EACH = 40


def _plain(shape: Shape) -> int:
    """Return how many tiles of a shape are in singles and pairs."""
    return sum(group.count for group in shape.targets[0].groups if group.count < 3)


@dataclass(frozen=True)
class Kind:
    """A kind of card: its rule, and its size.

    Attributes:
        hides: Which of its hands are concealed.
    """

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
}


def written(kind: Kind) -> str:
    """Return a card of one kind as TOML text."""
    rng = np.random.default_rng(kind.seed)
    pool = [shape for shape in pool_of(AIMS["full"], _EACH, rng) if kind.fits(shape)]
    chosen = sorted(rng.choice(len(pool), kind.hands, replace=False).tolist())
    blocks = [f'[card]\nname = "{kind.title}"']
    for number, index in enumerate(chosen, start=1):
        shape = pool[index]
        text = shape.written(f"Hand {number}", FULL[shape.family].name).replace("\nconcealed = true", "")
        blocks.append(text + ("\nconcealed = true" if kind.hides(shape) else ""))
    return "\n\n".join(blocks) + "\n"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("folder", type=Path)
    folder = parser.parse_args().folder
    folder.mkdir(parents=True, exist_ok=True)
    for name, kind in KINDS_OF_CARDS.items():
        (folder / f"{name}.toml").write_text(written(kind), encoding="utf-8")


if __name__ == "__main__":
    main()
