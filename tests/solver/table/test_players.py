"""The Charleston of four, and the players that are measured against one another."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field

import pytest

from patterns.card import Card
from patterns.rack import parse_tiles
from patterns.tiles import KINDS, Tile
from solver.advice import advise
from solver.deals import Luck
from solver.rounds import ORDER, Round
from solver.situation import Question
from solver.table.charleston import PassRule, Seat, play_charleston
from solver.table.players import ByWorth, Careful
from tests.solver.played import count_out, own
from tests.solver.table.rivals import Nearest, RandomLegal
from tests.solver.table.tables import KONGS, STEPS, card_of

RULES: list[PassRule] = [RandomLegal(), Nearest(), Careful(), ByWorth()]
WHOLE_SET = [tile for tile in KINDS for _ in range(tile.copies)]
RIGHT = {Round.FIRST_RIGHT, Round.SECOND_RIGHT}
LEFT = {Round.FIRST_LEFT, Round.SECOND_LEFT}


def seats_of(seed: int) -> list[Seat]:
    order = Luck(seed).shuffled(WHOLE_SET)
    return [Seat(Counter(order[:14])), *(Seat(Counter(order[14 + 13 * n : 27 + 13 * n])) for n in range(3))]


def seat_of(seed: int, size: int = 13) -> Seat:
    order = Luck(seed).shuffled(WHOLE_SET)
    return Seat(Counter(order[:size]), order[size : size + 3])


def seat_with(text: str) -> Seat:
    return Seat(Counter(parse_tiles(text)))


@dataclass
class Scripted:
    """Passes its first tiles, or whatever ``cheat`` makes of them, and wishes what it is told."""

    wished: int = 3
    cheat: Callable[[Seat, tuple[Tile, ...]], tuple[Tile, ...]] = lambda seat, tiles: tiles
    asked: list[tuple[Round, int]] = field(default_factory=list)

    def choose(self, card: Card, seat: Seat, round_: Round, count: int, luck: Luck) -> tuple[Tile, ...]:
        self.asked.append((round_, count))
        tiles = [tile for tile in seat.tiles.elements() if tile is not Tile.JOKER]
        return self.cheat(seat, tuple(tiles[:count]))

    def wish(self, card: Card, seat: Seat, luck: Luck) -> int:
        return self.wished


@pytest.mark.parametrize("seed", range(4))
def test_every_pass_reaches_the_right_neighbor_and_no_tile_is_lost(seed: int) -> None:
    seats = seats_of(seed)
    racks = [Counter(seat.tiles) for seat in seats]
    jokers = [seat.tiles[Tile.JOKER] for seat in seats]
    rules = [Careful(), RandomLegal(), Nearest(), RandomLegal()]
    made = play_charleston(own(), seats, rules, Luck(seed, 1))
    assert [each.round for each in made] == [round_ for round_ in ORDER for _ in range(4)]
    for start in range(0, len(made), 4):
        for each in made[start : start + 4]:
            assert Counter(each.held) == racks[each.seat], "a pass is from the rack as it was"
            assert each.round is Round.COURTESY or len(each.given) == 3
        for each in made[start : start + 4]:
            step = 1 if each.round in RIGHT else 3 if each.round in LEFT else 2
            racks[each.seat].subtract(each.given)
            racks[(each.seat + step) % 4].update(each.given)
        racks = [+rack for rack in racks]
    assert racks == [seat.tiles for seat in seats]
    assert [rack.total() for rack in racks] == [14, 13, 13, 13]
    assert [rack[Tile.JOKER] for rack in racks] == jokers
    for number, seat in enumerate(seats):
        assert seat.passed == [tile for each in made if each.seat == number for tile in each.given]


@pytest.mark.parametrize(
    ("wishes", "sizes"),
    [((3, 1, 2, 0), (2, 0, 2, 0)), ((3, 3, 3, 3), (3, 3, 3, 3)), ((0, 2, 3, 1), (0, 1, 0, 1))],
)
def test_the_courtesy_pass_is_of_the_smaller_wish(wishes: tuple[int, ...], sizes: tuple[int, ...]) -> None:
    rules = [Scripted(wished=wish) for wish in wishes]
    made = play_charleston(own(), seats_of(1), rules, Luck(1))
    assert tuple(len(each.given) for each in made[-4:]) == sizes
    for rule, size in zip(rules, sizes, strict=True):
        assert rule.asked[6:] == ([(Round.COURTESY, size)] if size else [])


def not_held(seat: Seat, tiles: tuple[Tile, ...]) -> tuple[Tile, ...]:
    return (next(tile for tile in KINDS if not seat.tiles[tile] and tile is not Tile.JOKER), *tiles[1:])


@pytest.mark.parametrize(
    "cheat", [not_held, lambda seat, tiles: (Tile.JOKER, *tiles[1:]), lambda seat, tiles: tiles[:2]]
)
def test_an_illegal_pass_is_refused_and_nothing_moves(
    cheat: Callable[[Seat, tuple[Tile, ...]], tuple[Tile, ...]],
) -> None:
    seats = seats_of(2)
    seats[2].tiles[Tile.JOKER] += 1
    before = [Counter(seat.tiles) for seat in seats]
    rules = [Scripted(), Scripted(), Scripted(cheat=cheat), Scripted()]
    with pytest.raises(ValueError, match="seat 2 cannot pass"):
        play_charleston(own(), seats, rules, Luck(2))
    assert [seat.tiles for seat in seats] == before


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: type(rule).__name__)
@pytest.mark.parametrize("seed", range(3))
def test_a_pass_is_legal_and_the_same_in_any_order_of_the_tiles(rule: PassRule, seed: int) -> None:
    for count, round_ in ((3, Round.FIRST_RIGHT), (3, Round.SECOND_ACROSS), (1, Round.COURTESY)):
        seat = seat_of(seed, 13 + seed % 2)
        turned = Seat(Counter(reversed(list(seat.tiles.elements()))), seat.passed)
        given, again = (rule.choose(own(), each, round_, count, Luck(seed)) for each in (seat, turned))
        assert Counter(given) == Counter(again)
        assert len(given) == count and Tile.JOKER not in given and not Counter(given) - seat.tiles
        wishes = {rule.wish(own(), each, Luck(seed)) for each in (seat, turned)}
        assert len(wishes) == 1 and wishes <= {0, 1, 2, 3}


@pytest.mark.parametrize("seed", range(6))
def test_careful_keeps_flowers_and_pairs_and_lets_go_of_lone_winds_and_dragons_first(seed: int) -> None:
    card = card_of(STEPS)
    given = Careful().choose(
        card, seat_with("F 1b 1b 2c 2c 4d 4d 9c 8d 7c 6d N red"), Round.FIRST_RIGHT, 3, Luck(seed)
    )
    assert set(given[:2]) == {Tile.NORTH, Tile.RED} and given[2] in parse_tiles("9c 8d 7c 6d")
    pairs = seat_with("F F 9c 9c 8d 8d 1b 2c 4d 7c 7c J J")
    given = Careful().choose(card, pairs, Round.FIRST_RIGHT, 3, Luck(seed))
    assert set(given) == set(parse_tiles("1b 2c 4d")), "a lone tile goes before either tile of a pair"
    flowers = seat_with("F F F 9c 9c 8d 8d 1b 1b 2c 2c 4d 4d")
    assert Tile.FLOWER not in Careful().choose(card, flowers, Round.FIRST_RIGHT, 3, Luck(seed))


@pytest.mark.parametrize("seed", range(6))
def test_advised_passes_what_the_advice_says(seed: int) -> None:
    seat = seat_of(seed)
    question = Question(own(), seat.rack, Round.FIRST_RIGHT, 3, seen=seat.seen())
    worth = count_out(question)
    given = ByWorth().choose(own(), seat, Round.FIRST_RIGHT, 3, Luck(9))
    best = worth[tuple(sorted(given, key=KINDS.index))]
    assert best == pytest.approx(max(worth.values()), rel=1e-9)
    assert best == pytest.approx(advise(question).strength, rel=1e-9)


def test_advised_wishes_for_nothing_with_a_hand_that_only_loses() -> None:
    card = card_of(KONGS)
    assert ByWorth().wish(card, seat_with("S S red red red red E E E E F F F"), Luck(0)) == 0
    assert ByWorth().wish(card, seat_with("S S red red red red E E E E 1b 2b 3b"), Luck(0)) == 3
