from collections import Counter

import pytest

from patterns.rack import parse_tiles
from patterns.tiles import KINDS, Tile
from solver.advice import advise
from solver.card_tables import tables_of
from solver.deals import Luck
from solver.question import Question
from solver.rounds import Round
from solver.table.charleston import PassRule, Seat
from solver.table.players import ByWorth, Careful, Nearest, RandomLegal, _away
from tests.solver.played import small
from tests.solver.table.tables import card_of, tiles_away

RULES: list[PassRule] = [RandomLegal(), Nearest(), Careful(), ByWorth()]
QUICK = RULES[:3]
WHOLE_SET = [tile for tile in KINDS for _ in range(tile.copies)]


def seat_of(seed: int, size: int = 13) -> Seat:
    order = Luck(seed).shuffled(WHOLE_SET)
    return Seat(Counter(order[:size]), order[size : size + 3])


def seat_with(text: str) -> Seat:
    return Seat(Counter(parse_tiles(text)))


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
@pytest.mark.parametrize("seed", range(3))
def test_a_pass_is_legal_and_its_wish_in_range(rule: PassRule, seed: int) -> None:
    for count, round_ in ((3, Round.FIRST_RIGHT), (3, Round.SECOND_ACROSS), (1, Round.COURTESY)):
        seat = seat_of(seed, 13 + seed % 2)
        before = Counter(seat.tiles)
        given = rule.choose(small(), seat, round_, count, Luck(seed))
        assert len(given) == count and Tile.JOKER not in given and not Counter(given) - before
        assert seat.tiles == before
    assert 0 <= rule.wish(small(), seat_of(seed), Luck(seed)) <= 3


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_the_same_chance_gives_the_same_pass(rule: PassRule) -> None:
    for seed in range(3):
        first, again = (
            rule.choose(small(), seat_of(seed), Round.FIRST_RIGHT, 3, Luck(seed)) for _ in range(2)
        )
        assert first == again
        assert rule.wish(small(), seat_of(seed), Luck(seed)) == rule.wish(small(), seat_of(seed), Luck(seed))


@pytest.mark.parametrize("rule", QUICK, ids=lambda rule: rule.name)
def test_the_order_in_which_tiles_came_does_not_matter(rule: PassRule) -> None:
    for seed in range(6):
        seat = seat_of(seed)
        turned = Seat(Counter(reversed(list(seat.tiles.elements()))), seat.passed)
        assert list(turned.tiles) != list(seat.tiles)
        chosen = [rule.choose(small(), each, Round.FIRST_RIGHT, 3, Luck(seed)) for each in (seat, turned)]
        assert chosen[0] == chosen[1]


def test_random_passes_differ_with_their_chance_and_reach_every_natural() -> None:
    seat = seat_of(5)
    given = [RandomLegal().choose(small(), seat, Round.FIRST_RIGHT, 3, Luck(seed)) for seed in range(200)]
    assert {tile for tiles in given for tile in tiles} == set(seat.tiles) - {Tile.JOKER}
    assert {RandomLegal().wish(small(), seat, Luck(seed)) for seed in range(100)} == {0, 1, 2, 3}


@pytest.mark.parametrize("seed", range(12))
def test_tiles_away_are_a_plain_recount(seed: int) -> None:
    seat = seat_of(seed)
    free = Counter({tile.position: count for tile, count in seat.tiles.items()})
    recount = [tiles_away(target, free) for target in tables_of(small()).targets]
    assert _away(small(), seat).tolist() == recount


def test_nearest_keeps_what_its_target_wants_while_it_can() -> None:
    card = card_of("flower*2 north*4 east*4 west*4", "1bam*3 2bam*4 3bam*3 4bam*4")
    seat = seat_with("F N N N N E E E W W 1b 2b 9c")
    for seed in range(30):
        given = Nearest().choose(card, seat, Round.FIRST_RIGHT, 3, Luck(seed))
        assert set(given) == set(parse_tiles("1b 2b 9c"))
    assert Nearest().wish(card, seat, Luck(0)) == 3
    full = seat_with("F F N N N N E E E E W W W")
    assert Nearest().wish(card, full, Luck(0)) == 0
    assert not Counter(Nearest().choose(card, full, Round.FIRST_RIGHT, 3, Luck(0))) - full.tiles


def test_nearest_lets_go_of_copies_beyond_what_its_target_wants() -> None:
    card = card_of("flower*2 north*4 east*4 west*4")
    seat = seat_with("F F F F F N N N E E E W W")
    for seed in range(20):
        assert set(Nearest().choose(card, seat, Round.FIRST_RIGHT, 3, Luck(seed))) == {Tile.FLOWER}


@pytest.mark.parametrize("seed", range(30))
def test_careful_keeps_flowers_and_lets_go_of_lone_honours_first(seed: int) -> None:
    card = card_of("flower*2 1bam*4 2bam*4 3bam*4")
    seat = seat_with("F 1b 1b 2b 2b 3b 3b 9c 8d 7c 6d N red")
    given = Careful().choose(card, seat, Round.FIRST_RIGHT, 3, Luck(seed))
    assert set(given[:2]) == set(parse_tiles("N red"))
    assert given[2] in parse_tiles("9c 8d 7c 6d")
    assert Careful().wish(card, seat, Luck(seed)) == 3


@pytest.mark.parametrize("seed", range(10))
def test_careful_breaks_a_pair_only_when_few_other_tiles_are_left(seed: int) -> None:
    card = card_of("flower*2 1bam*4 2bam*4 3bam*4")
    seat = seat_with("F F 9c 9c 8d 8d 1b 2b 3b 7c 7c J J")
    given = Careful().choose(card, seat, Round.FIRST_RIGHT, 3, Luck(seed))
    assert set(given) == set(parse_tiles("1b 2b 3b")), "a lone tile goes before either tile of a pair"


@pytest.mark.parametrize("seed", range(2))
def test_advised_passes_what_the_advice_says(seed: int) -> None:
    seat = seat_of(seed)
    question = Question(small(), seat.rack, Round.FIRST_RIGHT, 3, seen=seat.seen())
    given = ByWorth().choose(small(), seat, Round.FIRST_RIGHT, 3, Luck(9))
    assert sorted(given, key=KINDS.index) == sorted(advise(question).passed, key=KINDS.index)


def test_advised_wishes_for_nothing_with_a_hand_that_only_loses() -> None:
    card = card_of("flower*2 north*4 east*4 west*4")
    assert ByWorth().wish(card, seat_with("F F N N N N E E E E W W W"), Luck(0)) == 0
    assert ByWorth().wish(card, seat_with("F F N N N N E E E E 1b 2b 3b"), Luck(0)) == 3
