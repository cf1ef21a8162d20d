from collections import Counter
from hashlib import sha256

import pytest

from patterns.tiles import KINDS, Tile
from solver.rounds import ORDER, Round
from solver.table.charleston import PassRule
from solver.table.game import Game, play_game
from solver.table.players import Careful, Nearest, RandomLegal
from tests.solver.played import small

WHOLE_SET = Counter({tile: tile.copies for tile in KINDS})
MIXED: list[PassRule] = [Careful(), Nearest(), RandomLegal(), Careful()]
# First 16 hex digits of the SHA-256 of all that happened: the same on every machine and version.
DIGESTS: dict[tuple[int, int], str] = {
    (0, 0): "30b15e64910f5622",
    (1, 0): "dd5b29298ba4edc5",
    (1, 1): "20c0d81bda5783bb",
    (20, 3): "8ccf0874bd267569",
    (2**63 - 1, 123456): "a62231c66d0de92b",
}


def as_text(game: Game) -> str:
    def names(tiles: tuple[Tile, ...]) -> str:
        return " ".join(tile.value for tile in tiles)

    lines = [names(tiles) for tiles in game.dealt]
    lines += [
        f"{made.seat} {made.round.value}: {names(made.held)}: {names(made.given)}" for made in game.passes
    ]
    lines += [f"{names(start.tiles)}: {names(start.seen)}" for start in game.starts]
    ending = game.ending
    lines.append(f"{ending.winner} {ending.hand} {ending.drawn} {ending.draws} {ending.self_drawn}")
    return "\n".join(lines)


def digest(game: Game) -> str:
    return sha256(as_text(game).encode()).hexdigest()[:16]


@pytest.mark.parametrize(("named", "expected"), DIGESTS.items())
def test_a_seed_and_a_number_name_a_game_for_good(named: tuple[int, int], expected: str) -> None:
    assert digest(play_game(small(), MIXED, *named)) == expected


def test_the_same_seed_and_number_give_the_same_game_and_others_another() -> None:
    first, again = (play_game(small(), MIXED, 3, 8) for _ in range(2))
    assert first == again
    others = {digest(play_game(small(), MIXED, *named)) for named in ((3, 8), (3, 9), (4, 8), (8, 3))}
    assert len(others) == 4


def test_the_deal_is_the_same_whatever_the_rules() -> None:
    for number in range(3):
        games = [
            play_game(small(), rules, 7, number, second=second)
            for rules in (MIXED, MIXED[::-1], [RandomLegal()] * 4)
            for second in (True, False)
        ]
        assert len({game.dealt for game in games}) == 1
        assert len({game.starts for game in games}) > 1


def test_checking_changes_nothing() -> None:
    assert play_game(small(), MIXED, 2, 2, check=True) == play_game(small(), MIXED, 2, 2)


@pytest.mark.parametrize("number", range(4))
def test_east_has_fourteen_tiles_and_passes_lead_from_the_deal_to_the_start(number: int) -> None:
    game = play_game(small(), MIXED, 1, number)
    assert [len(tiles) for tiles in game.dealt] == [14, 13, 13, 13]
    assert [len(start.tiles) for start in game.starts] == [14, 13, 13, 13]
    dealt = sum((Counter(tiles) for tiles in game.dealt), Counter())
    assert dealt == sum((Counter(start.tiles) for start in game.starts), Counter())
    assert not dealt - WHOLE_SET
    first = game.passes[:4]
    assert [Counter(made.held) for made in first] == [Counter(tiles) for tiles in game.dealt]
    for seat, start in enumerate(game.starts):
        given = Counter(tile for made in game.passes if made.seat == seat for tile in made.given)
        assert not Counter(start.seen) - given
        assert not Counter(start.seen) + Counter(start.tiles) - WHOLE_SET


def test_without_the_second_charleston_three_rounds_and_the_courtesy_are_played() -> None:
    played = {
        second: [made.round for made in play_game(small(), MIXED, 1, 0, second=second).passes[::4]]
        for second in (True, False)
    }
    assert played == {True: list(ORDER), False: [*ORDER[:3], Round.COURTESY]}
