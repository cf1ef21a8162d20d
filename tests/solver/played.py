"""Worlds small enough to count out, and Charlestons played by the program itself."""

import random
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import cache
from itertools import combinations
from math import comb, prod
from pathlib import Path

from patterns.card import Card
from patterns.card_file import card_from_toml, shipped_card
from patterns.rack import Rack, parse_rack, parse_tiles
from patterns.tiles import KINDS, Tile
from solver.advice import advise
from solver.arrivals import Fit, Length, Play
from solver.coach.review import Exchange, Record, Review, review
from solver.deals import deal
from solver.rounds import PASS_SIZE, Drill, Round
from solver.situation import Question, still_elsewhere
from tests.solver.enumeration import Enumeration

_TINY = """
[card]
name = "Tiny"
[[hand]]
name = "Tall"
family = "one"
groups = "flower*6 north*4 east*4"
[[hand]]
name = "Wide"
family = "one"
groups = "flower*4 north*3 west*3 south*4"
[[hand]]
name = "Even"
family = "two"
groups = "flower*2 east*4 west*4 red*4"
[[hand]]
name = "Odd"
family = "two"
groups = "flower*5 red*5 south*4"
"""
# The card of the README, which states the rules that its hands come from.
OWN_CARD = Path(__file__).parents[1] / "own_card.toml"
tiles, rack = parse_tiles, parse_rack
WALL = tuple(tile for tile in KINDS for _ in range(tile.copies))
# Odds that differ from what passes are chosen by.
FIT = Fit(
    Play((Length(14, 9, 0.75), Length(26, 0, 0.25)), (7, 5, 4, 2, 1, 0, 0)),
    tuple(Play((Length(draws, 8, 1.0),), (6, 4, 3, 3, 1, -1, -3)) for draws in (28, 24, 20, 22)),
    games=100,
    error=0.02,
)


@cache
def card(name: str) -> Card:
    """Return a practice card, the same object every time."""
    return shipped_card(name)


def random_rack(rnd: random.Random, size: int = 14) -> Rack:
    return Rack(tuple(rnd.sample(WALL, size)))


def small() -> Card:
    return card("small")


def question(held: Rack | str, name: str = "small", **more: object) -> Question:
    """Return a question about a rack: first right, three tiles, unless told otherwise."""
    settings: dict[str, object] = {"round": Round.FIRST_RIGHT, **more}
    return Question(card(name), parse_rack(held) if isinstance(held, str) else held, **settings)


@cache
def tiny() -> Card:
    """Return four hands of winds, dragons and flowers, one target each."""
    return card_from_toml(_TINY, "tiny")


@cache
def own() -> Card:
    """Return a player's own card: four hands, some hundred targets, suits and ranks free."""
    return card_from_toml(OWN_CARD.read_text(encoding="utf-8"), "own")


def all_but(held: Rack, pool: Counter[Tile]) -> tuple[Tile, ...]:
    """Return what must have been seen for only ``pool`` to be left unseen."""
    whole = Counter({tile: tile.copies for tile in KINDS})
    whole.subtract(held.tiles)
    whole.subtract(pool)
    assert min(whole.values()) >= 0
    return tuple(whole.elements())


def shares(pool: Counter[Tile], sizes: Sequence[int]) -> Iterator[tuple[float, list[tuple[Tile, ...]]]]:
    """Yield every way that tiles drawn blindly fall into heaps, with its chance."""
    if not sizes:
        yield 1.0, []
        return
    all_ways = comb(pool.total(), sizes[0])
    for first in sorted(set(combinations(sorted(pool.elements(), key=KINDS.index), sizes[0])), key=str):
        ways = prod(comb(pool[tile], count) for tile, count in Counter(first).items())
        for chance, rest in shares(pool - Counter(first), sizes[1:]):
            yield ways / all_ways * chance, [first, *rest]


def count_out(question: Question) -> dict[tuple[Tile, ...], float]:
    """Return the worth of every pass of a question that keeps its limits, best first, without the model."""
    return Enumeration.of(question).worth(question.limits)


def played_best(
    seed: int,
    rounds: Sequence[Round],
    *,
    size: int = 14,
    then_draws: int | None = None,
    courtesy: int = 2,
    spoil: int | None = None,
) -> Record:
    """Play a Charleston, or a drill if ``then_draws`` is named, giving the best pass each time.

    One exchange may be spoilt: then another pass of as many tiles goes, and the rest is best again.
    """
    dealt = deal(seed, 0, size)
    heap, held, passed = list(dealt.heap), dealt.rack, list[Tile]()
    exchanges: list[Exchange] = []
    for index, round_ in enumerate(rounds):
        drill = None if then_draws is None else Drill(len(rounds) - index, then_draws)
        give = courtesy if round_ is Round.COURTESY else None
        seen = still_elsewhere(passed, Counter(held.tiles))
        given = advise(Question(own(), held, round_, give, seen=seen, drill=drill, alternatives=0)).passed
        if spoil == index:
            given = _worse(held, given)
        incoming = tuple(heap[: len(given)])
        heap = heap[PASS_SIZE:]
        blind = 0 if round_ is Round.COURTESY else PASS_SIZE - len(given)
        exchanges.append(Exchange(round_, given, incoming, blind, seconds=30.0 + index))
        rest = Counter(held.tiles)
        rest.subtract(given)
        held = Rack((*rest.elements(), *incoming))
        passed += given
    drilled = then_draws is not None
    length = Length(then_draws, 0) if then_draws is not None else None
    return Record(own(), dealt.rack, tuple(exchanges), drill=drilled, length=length)


def _worse(held: Rack, best: tuple[Tile, ...]) -> tuple[Tile, ...]:
    """Return the pass of the same size furthest from the best: the tiles it leaves, most copies first."""
    rest = Counter(held.tiles)
    rest.subtract(best)
    left = [tile for tile, count in rest.most_common() for _ in range(count) if tile is not Tile.JOKER]
    return tuple(sorted(left[: len(best)], key=lambda tile: tile.position))


@cache
def graded_best(
    seed: int, rounds: tuple[Round, ...], size: int = 14, draws: int | None = None, spoil: int | None = None
) -> Review:
    """Play and grade, once for all tests that look at it."""
    return review(played_best(seed, rounds, size=size, then_draws=draws, spoil=spoil))
