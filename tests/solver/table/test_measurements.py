"""Small versions of the published measurements: they can be made again."""

from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from patterns.tiles import KINDS, Tile
from solver.arrivals import Make
from solver.deals import Luck
from solver.odds import scaled
from solver.rounds import ORDER, Round
from solver.situation import tables_of
from solver.table import fitting
from solver.table import game as game_module
from solver.table.charleston import Seat
from solver.table.game import deal_seats, play_again
from solver.table.players import ByWorth
from tests.benchmarks import odds, outcomes, simulate
from tests.benchmarks.simulate import games_of
from tests.solver.played import FIT, small

RULES = ["advised", "careful", "nearest", "random"]
GAMES = 8


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("games") / "games.jsonl"
    simulate.play_all(path, {"card": "small", "rules": RULES, "seed": 11, "again": 2}, GAMES, 1)
    return path


def test_each_shuffle_is_played_four_times_with_the_rules_moved_on(file: Path) -> None:
    _, games = games_of(file)
    firsts = [[made[2] for made in game["passes"][:4]] for game in games]
    assert firsts[0] == firsts[1] == firsts[2] == firsts[3] != firsts[4]
    for seat in range(4):
        assert sorted(game["rules"][seat] for game in games[:4]) == sorted(RULES)
    assert games[1]["rules"] == [RULES[3], *RULES[:3]]


def test_what_was_interrupted_is_played_on(file: Path) -> None:
    header, games = games_of(file)
    file.write_bytes(file.read_bytes()[: file.stat().st_size // 2])
    assert len(games_of(file)[1]) < GAMES
    simulate.play_all(file, header, GAMES, 1)
    assert games_of(file) == (header, games)


def test_shares_won_are_means_over_the_walls_of_each_game(file: Path) -> None:
    header, games = games_of(file)
    wins = simulate.wins_by_shuffle(games, RULES)
    assert wins.shape == (GAMES // 4, 4, 2) and (wins[..., 1] == 4).all()
    first = [game for game in games if game["game"] < 4]
    for place, rule in enumerate(RULES):
        seats = [game["rules"].index(rule) for game in first]
        by_hand = [
            np.mean([winner == seat for winner in (game["winner"], *game["again"])])
            for game, seat in zip(first, seats, strict=True)
        ]
        assert wins[0, place, 0] == pytest.approx(sum(by_hand))
    shares = simulate.shares_of(wins)
    assert shares[0].sum() <= 1 and (shares.std(axis=0) > 0).any(), "shuffles are drawn again"
    for place in range(4):
        share, low, high = simulate.interval(shares[:, place])
        assert low <= share <= high
    assert f"{GAMES} games of seed 11, 3 walls each" in simulate.tell(header, games)


def test_files_that_met_the_same_walls_are_compared_on_the_games_of_both(file: Path) -> None:
    header, games = games_of(file)
    other = {**header, "rules": ["sum", *header["rules"][1:]]}
    others = [
        {**game, "rules": ["sum" if rule == "advised" else rule for rule in game["rules"]]} for game in games
    ]
    (line,) = simulate.compared([(header, games), (other, others[2:])])
    assert f"{GAMES - 2} games of both: advised 1.000 times as often (1.000-1.000), beside sum" in line
    assert not simulate.compared([(header, games), ({**other, "seed": 12}, others)])


def test_the_likelihood_of_a_logistic_model() -> None:
    """Two groups with chances of a quarter and a half: the model can tell them apart and no more."""
    features = np.array([[1.0, 0.0], [1.0, 1.0]])
    found = outcomes.likelihood(features, np.array([1, 2]), np.array([4, 4]))
    assert found == pytest.approx(np.log(0.25) + 3 * np.log(0.75) + 4 * np.log(0.5))
    assert found > outcomes.likelihood(features[:, :1], np.array([1, 2]), np.array([4, 4]))


def test_power_and_gifts_are_told(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    outcomes.tell_power(file, GAMES)
    outcomes.tell_gives(file, 1)
    told = capsys.readouterr().out
    gained = [float(line.split(": ")[1]) for line in told.splitlines() if "power" in line]
    assert len(gained) == len(outcomes.POWERS) and min(gained) >= 0
    assert "1 racks" in told and "2 of a kind" in told


def test_another_wall_is_all_that_no_seat_holds(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same luck makes the same wall, and almost the same one when another tile is held."""
    starts = [
        Seat(Counter(map(Tile, held)), list(map(Tile, seen))) for held, seen in games_of(file)[1][0]["starts"]
    ]
    assert play_again(small(), starts, Luck(1)) == play_again(small(), starts, Luck(1))
    tables = []
    monkeypatch.setattr(game_module, "play_out", tables.append)
    spare = next(tile for tile in KINDS if not any(tile in start.tiles for start in starts))
    gone = next(iter(starts[0].tiles))
    other = replace(starts[0], tiles=starts[0].tiles - Counter([gone]) + Counter([spare]))
    for seats, seed in ((starts, 1), (starts, 2), ([other, *starts[1:]], 1)):
        play_again(small(), seats, Luck(seed))
    whole = Counter({tile.position: tile.copies for tile in KINDS})
    held = Counter(tile.position for start in starts for tile in start.tiles.elements())
    walls = [table.wall for table in tables]
    assert Counter(walls[0]) == Counter(walls[1]) == whole - held and walls[0] != walls[1]
    changed = {gone.position, spare.position}
    assert [kind for kind in walls[0] if kind not in changed] == [k for k in walls[2] if k not in changed]
    for table, start in zip(tables[0].aims, starts, strict=True):
        assert table.held.sum() == start.tiles.total() and table.elsewhere.sum() == len(start.seen())


def test_incoming_shares_predict_what_came_in_where_they_were_measured(file: Path) -> None:
    _, games = games_of(file)
    judged = outcomes.judge(games, outcomes.shares_of(games))
    assert all(ours > flat for ours, flat, _ in judged.values())


def test_odds_are_judged_after_every_pass_and_by_what_a_hand_is_made_of() -> None:
    """Longer play, more chance."""
    game = fitting.play(small(), 4, 2)
    some, alone = odds.stated(small(), FIT, game)
    longer = replace(
        FIT, some_hand=scaled(FIT.some_hand, 1.5), alone=tuple(scaled(p, 1.5) for p in FIT.alone)
    )
    more, alone_more = odds.stated(small(), longer, game)
    assert all(0 < less < greater < 1 for less, greater in zip(some, more, strict=True))
    assert 0 < alone < alone_more < 1
    judged = odds.judged(small(), FIT, [game, game])
    assert [each.after for each in judged[:8]] == [*ORDER, None]
    assert judged[8].make is list(Make)[tables_of(small()).makes[game.target]]


def test_one_other_pass_changes_that_pass_and_what_it_leaves() -> None:
    swerves, seat = odds.Swerves(Round.FIRST_LEFT, 20), deal_seats(4, 2)[0][1]
    same, other = (swerves.choose(small(), seat, round_, 3, Luck(1)) for round_ in ORDER[1:3])
    advised = [ByWorth().choose(small(), seat, round_, 3, Luck(1)) for round_ in ORDER[1:3]]
    assert same == advised[0] and other != advised[1] and 0 < swerves.kept < 1
    assert 0 < odds.ends(small(), FIT, 4, 2, swerves) < 1
