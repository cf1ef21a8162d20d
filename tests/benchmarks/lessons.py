"""Racks composed for lessons beside deals tried until one fits, and what comes in at tables to practice at.

Run: python -m tests.benchmarks.lessons
"""

from collections import Counter
from time import process_time

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card
from patterns.card_file import shipped_card
from patterns.tiles import Tile
from solver.ahead import SHARES, sort_of, weights_of
from solver.coach.compose import Composition, Copies, Near, RackWish, compose, hands_called
from solver.deals import DealWish, Difficulty, Luck, deal, measured
from solver.rounds import ORDER, Round
from solver.situation import N_NATURALS, NATURALS, counts_of, tables_of, tiles_away
from solver.table.charleston import Seat
from solver.table.lap import Passed, table_lap
from solver.table.players import Careful

COUNT, SEED, MOST_DEALS = 8, 41, 20_000
NO_JOKERS = Copies(("jokers",), Tile.JOKER, 0, 0)


def near(*names: tuple[str, int]) -> tuple[RackWish, ...]:
    return tuple(Near(("near", at), name, away) for at, (name, away) in enumerate(names))


# Three ideas for a lesson, and harder ones.
IDEAS: dict[str, tuple[tuple[RackWish, ...], Difficulty]] = {
    "two directions, no jokers, clear": ((*near(("scales", 6), ("sisters", 6)), NO_JOKERS), Difficulty.CLEAR),
    "a pair to break? close": (
        (*near(("quays", 7)), Copies(("holds",), Tile.C5, 2), Copies(("flowers",), Tile.FLOWER, 1, 1)),
        Difficulty.CLOSE,
    ),
    "three jokers, far away": (
        (*near(("terraces", 6)), Copies(("jokers",), Tile.JOKER, 3, 3)),
        Difficulty.ANY,
    ),
    "two families at four, no jokers": ((*near(("scales", 4), ("sisters", 4)), NO_JOKERS), Difficulty.ANY),
    "one hand nearly made": (near(("Herb Tub/window boxes", 3)), Difficulty.ANY),
    "three families at five": (near(("scales", 5), ("sisters", 5), ("quays", 5)), Difficulty.ANY),
}


def fits(card: Card, tiles: tuple[Tile, ...], wishes: tuple[RackWish, ...]) -> bool:
    tables, held = tables_of(card), counts_of(tiles)
    away = tiles_away(tables, held[:N_NATURALS], int(held[N_NATURALS]))
    for wish in wishes:
        if isinstance(wish, Copies):
            if not wish.least <= tiles.count(wish.tile) <= (14 if wish.most is None else wish.most):
                return False
        elif away[np.isin(tables.hand, hands_called(card, wish.name))].min() != wish.away:
            return False
    return True


def compare(card: Card) -> None:
    print(
        "| idea | composed of tried | racks a second | dealt until it fits: found of tried | racks a second |"
    )
    print("|---|---|---|---|---|")
    racks = []
    for name, (wishes, difficulty) in IDEAS.items():
        wish = DealWish(card, SEED, COUNT, difficulty=difficulty, budget=200)
        began = process_time()
        found, tried = compose(Composition(wish, wishes, 5))
        composed = len(found) / (process_time() - began)
        began, dealt, index = process_time(), 0, 0
        while dealt < COUNT and index < MOST_DEALS:
            one = deal(SEED, index)
            index += 1
            dealt += fits(card, one.rack.tiles, wishes) and len(measured(wish, one))
        beside = dealt / (process_time() - began)
        of = f"{len(found)} of {tried} | {composed:.1f}"
        print(f"| {name} | {of} | {dealt} of {index:,} | {beside:.2f} |", flush=True)
        tiles = (" ".join(tile.value for tile in each.deal.rack.tiles) for each in found)
        racks.append(f"{name}: {'; '.join(tiles)}")
    print("\n".join(racks))


def watched(
    card: Card, tables: int, seed: int = SEED, most: int = len(ORDER)
) -> tuple[NDArray[np.float64], NDArray[np.float64], int]:
    """Return what came in at the first rounds by sort, what shares predict, and how many tables stopped."""
    came, predicted = np.zeros((2, len(ORDER), len(SHARES[Round.FIRST_RIGHT])))
    sorts, stops = [sort_of(tile) for tile in NATURALS], 0
    for index in range(tables):
        passes: list[Passed] = []
        while (lap := table_lap(card, seed, index, passes)).rounds:
            if passes:
                np.add.at(came[len(passes) - 1], [sort_of(tile) for tile in lap.received[-1]], 1)
            if len(passes) == most:
                break
            round_ = lap.rounds[0]
            size = lap.most if round_ is Round.COURTESY else 3
            seat = Seat(Counter(lap.rack.tiles))
            passes.append(Passed(round_, Careful().choose(card, seat, round_, size, Luck(0))))
            copies = np.array([tile.copies - lap.rack.tiles.count(tile) for tile in NATURALS])
            likely = np.array(weights_of(round_)) * copies
            np.add.at(predicted[len(passes) - 1], sorts, size * likely / likely.sum())
        stops += bool(lap.stopped)
    return came, predicted, stops


def watch_tables(card: Card, tables: int) -> None:
    """Print how what comes in at each round goes together with the shares, and how often others stop."""
    came, predicted, stops = watched(card, tables)
    print(
        f"{tables} tables, the second Charleston stopped at {stops}; correlation by sort of tile, by round:"
    )
    for place in range(3):
        together = np.corrcoef(came[place], predicted[place])[0, 1]
        print(f"  {ORDER[place].words}: {together:.3f}")


if __name__ == "__main__":
    compare(shipped_card("full"))
    for name in ("full", "small"):
        print(name, end=": ")
        watch_tables(shipped_card(name), 150)
