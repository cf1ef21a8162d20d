from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field

import pytest

from patterns.card import Card
from patterns.tiles import KINDS, Tile
from solver.deals import Luck
from solver.rounds import FIRST_CHARLESTON, SECOND_CHARLESTON, Round
from solver.table.charleston import Seat, play_charleston
from solver.table.players import Careful, Nearest, RandomLegal
from tests.solver.played import small

WHOLE_SET = [tile for tile in KINDS for _ in range(tile.copies)]
RIGHT = {Round.FIRST_RIGHT, Round.SECOND_RIGHT}
LEFT = {Round.FIRST_LEFT, Round.SECOND_LEFT}


def seats_of(seed: int) -> list[Seat]:
    order = Luck(seed).shuffled(WHOLE_SET)
    return [Seat(Counter(order[:14])), *(Seat(Counter(order[14 + 13 * n : 27 + 13 * n])) for n in range(3))]


@dataclass
class Scripted:
    """Passes its first tiles, or whatever ``cheat`` makes of them, and wishes what it is told."""

    name: str = "scripted"
    wished: int = 3
    cheat: Callable[[Seat, tuple[Tile, ...]], tuple[Tile, ...]] = lambda seat, tiles: tiles
    asked: list[tuple[Round, int]] = field(default_factory=list)

    def choose(self, card: Card, seat: Seat, round_: Round, count: int, chance: Luck) -> tuple[Tile, ...]:
        self.asked.append((round_, count))
        tiles = [tile for tile in seat.tiles.elements() if tile is not Tile.JOKER]
        return self.cheat(seat, tuple(tiles[:count]))

    def wish(self, card: Card, seat: Seat, chance: Luck) -> int:
        return self.wished


@pytest.mark.parametrize("second", [False, True])
@pytest.mark.parametrize("seed", range(5))
def test_no_tile_is_lost_and_no_joker_moves(seed: int, second: bool) -> None:
    seats = seats_of(seed)
    before = [Counter(seat.tiles) for seat in seats]
    rules = [Careful(), Nearest(), RandomLegal(), Careful()]
    made = play_charleston(small(), seats, rules, second, Luck(seed, 1))
    assert sum((seat.tiles for seat in seats), Counter()) == sum(before, Counter())
    assert [seat.tiles.total() for seat in seats] == [14, 13, 13, 13]
    for seat, was in zip(seats, before, strict=True):
        assert seat.tiles[Tile.JOKER] == was[Tile.JOKER]
    assert not any(Tile.JOKER in each.given for each in made)
    rounds = [*FIRST_CHARLESTON, *(SECOND_CHARLESTON if second else ()), Round.COURTESY]
    assert [each.round for each in made] == [round_ for round_ in rounds for _ in range(4)]
    assert all(len(each.given) == 3 for each in made if each.round is not Round.COURTESY)
    for number, seat in enumerate(seats):
        assert seat.passed == [tile for each in made if each.seat == number for tile in each.given]


@pytest.mark.parametrize("seed", range(5))
def test_every_pass_reaches_the_right_neighbour(seed: int) -> None:
    seats = seats_of(seed)
    racks = [Counter(seat.tiles) for seat in seats]
    rules = [Careful(), RandomLegal(), Nearest(), RandomLegal()]
    made = play_charleston(small(), seats, rules, True, Luck(seed, 1))
    for start in range(0, len(made), 4):
        passes = made[start : start + 4]
        for each in passes:
            assert Counter(each.held) == racks[each.seat], "a pass is from the rack as it was"
        for each in passes:
            right, left = (each.seat + 1) % 4, (each.seat - 1) % 4
            across = (each.seat + 2) % 4
            to = right if each.round in RIGHT else left if each.round in LEFT else across
            racks[each.seat].subtract(each.given)
            racks[to].update(each.given)
        racks = [+rack for rack in racks]
    assert racks == [seat.tiles for seat in seats]


@pytest.mark.parametrize(
    ("wishes", "sizes"),
    [((3, 1, 2, 0), (2, 0, 2, 0)), ((3, 3, 3, 3), (3, 3, 3, 3)), ((0, 2, 3, 1), (0, 1, 0, 1))],
)
def test_the_courtesy_pass_is_of_the_smaller_wish(wishes: tuple[int, ...], sizes: tuple[int, ...]) -> None:
    rules = [Scripted(wished=wish) for wish in wishes]
    made = play_charleston(small(), seats_of(1), rules, False, Luck(1))
    assert tuple(len(each.given) for each in made[-4:]) == sizes
    for rule, size in zip(rules, sizes, strict=True):
        assert rule.asked[3:] == ([(Round.COURTESY, size)] if size else [])


def not_held(seat: Seat, tiles: tuple[Tile, ...]) -> tuple[Tile, ...]:
    return (next(tile for tile in KINDS if not seat.tiles[tile] and tile is not Tile.JOKER), *tiles[1:])


@pytest.mark.parametrize(
    "cheat",
    [
        not_held,
        lambda seat, tiles: (Tile.JOKER, *tiles[1:]),
        lambda seat, tiles: tiles[:2],
        lambda seat, tiles: (*tiles, *tiles[:1]),
        lambda seat, tiles: (tiles[0],) * 3 if seat.tiles[tiles[0]] < 3 else not_held(seat, tiles),
    ],
)
def test_an_illegal_pass_is_refused_and_nothing_moves(
    cheat: Callable[[Seat, tuple[Tile, ...]], tuple[Tile, ...]],
) -> None:
    seats = seats_of(2)
    seats[2].tiles[Tile.JOKER] += 1
    before = [Counter(seat.tiles) for seat in seats]
    rules = [Scripted(), Scripted(), Scripted(cheat=cheat), Scripted()]
    with pytest.raises(ValueError, match="seat 2 cannot pass"):
        play_charleston(small(), seats, rules, False, Luck(2))
    assert [seat.tiles for seat in seats] == before


@pytest.mark.parametrize("wish", [-1, 4])
def test_an_impossible_wish_is_refused(wish: int) -> None:
    rules = [Scripted(), Scripted(wished=wish), Scripted(), Scripted()]
    with pytest.raises(ValueError, match="courtesy"):
        play_charleston(small(), seats_of(3), rules, False, Luck(3))


def test_a_seat_remembers_its_passes_as_far_as_they_can_be_elsewhere() -> None:
    seat = Seat(Counter({Tile.NORTH: 3, Tile.B1: 1}), [Tile.NORTH, Tile.NORTH, Tile.C2, Tile.B1])
    assert seat.seen() == (Tile.B1, Tile.C2, Tile.NORTH)
