"""Small versions of the published measurements: they can be made again, and go on where they stopped."""

import json
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from patterns.tiles import KINDS, Tile
from solver.arrivals import Make
from solver.deals import Luck
from solver.odds import scaled
from solver.rounds import ORDER
from solver.situation import tables_of
from solver.table import fitting
from solver.table import game as game_module
from solver.table.game import SeatStart, play_again
from tests.benchmarks import card_figures, odds, outcomes, simulate, strength
from tests.benchmarks.simulate import games_of, moments_of
from tests.solver.played import own, small
from tests.solver.racks import FIT

ROOT = Path(__file__).parents[3]
RULES = ["advised", "careful", "nearest", "random"]
GAMES = 12
QUICK = "careful,nearest,random,careful"
HEADER = simulate.asked_for("small", QUICK.split(","), 1)
GAME = '{"game":0}\n'


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("games") / "games.jsonl"
    header = simulate.asked_for("small", RULES, 11, again=2)
    games = [simulate.play(header, number) for number in range(GAMES)]
    lines = [json.dumps(line, separators=(",", ":")) for line in games]
    path.write_text("\n".join([json.dumps(header), *lines, ""]))
    return path


def test_each_shuffle_is_played_four_times_with_the_rules_moved_on(file: Path) -> None:
    _, games = games_of(file)
    firsts = [[made[2] for made in game["passes"][:4]] for game in games]
    assert firsts[0] == firsts[1] == firsts[2] == firsts[3] != firsts[4]
    for seat in range(4):
        assert sorted(game["rules"][seat] for game in games[:4]) == sorted(RULES)
    assert games[1]["rules"] == [RULES[3], *RULES[:3]]


def test_shares_won_are_means_over_the_walls_of_each_game(file: Path) -> None:
    header, games = games_of(file)
    wins = strength.wins_by_shuffle(games, RULES)
    assert wins.shape == (GAMES // 4, 4, 2) and (wins[..., 1] == 4).all()
    first = [game for game in games if game["game"] < 4]
    for place, rule in enumerate(RULES):
        seats = [game["rules"].index(rule) for game in first]
        by_hand = [
            np.mean([winner == seat for winner in (game["winner"], *game["again"])])
            for game, seat in zip(first, seats, strict=True)
        ]
        assert wins[0, place, 0] == pytest.approx(sum(by_hand))
    shares = strength.shares_of(wins)
    assert shares[0].sum() <= 1 and (shares.std(axis=0) > 0).any(), "shuffles are drawn again"
    for place in range(4):
        share, low, high = strength.interval(shares[:, place])
        assert low <= share <= high
    assert f"{GAMES} games of seed 11, 3 walls each" in strength.tell(header, games)


def test_files_that_met_the_same_walls_are_compared_on_the_games_of_both(file: Path) -> None:
    header, games = games_of(file)
    other = {**header, "rules": ["sum", *header["rules"][1:]]}
    others = [
        {**game, "rules": ["sum" if rule == "advised" else rule for rule in game["rules"]]} for game in games
    ]
    (line,) = strength.compared([(header, games), (other, others[2:])])
    assert f"{GAMES - 2} games of both: advised 1.000 times as often (1.000-1.000), beside sum" in line
    assert not strength.compared([(header, games), ({**other, "seed": 12}, others)])


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
        SeatStart(*(tuple(map(Tile, texts)) for texts in start)) for start in games_of(file)[1][0]["starts"]
    ]
    assert play_again(small(), starts, Luck(1)) == play_again(small(), starts, Luck(1))
    tables = []
    monkeypatch.setattr(game_module, "play_out", tables.append)
    spare = next(tile for tile in KINDS if not any(tile in start.tiles for start in starts))
    other = replace(starts[0], tiles=(*starts[0].tiles[1:], spare))
    for seats, seed in ((starts, 1), (starts, 2), ([other, *starts[1:]], 1)):
        play_again(small(), seats, Luck(seed))
    whole = Counter({tile.position: tile.copies for tile in KINDS})
    held = Counter(tile.position for start in starts for tile in start.tiles)
    walls = [table.wall for table in tables]
    assert Counter(walls[0]) == Counter(walls[1]) == whole - held and walls[0] != walls[1]
    changed = {starts[0].tiles[0].position, spare.position}
    assert [kind for kind in walls[0] if kind not in changed] == [k for k in walls[2] if k not in changed]
    for table, start in zip(tables[0].aims, starts, strict=True):
        assert table.held.sum() == len(start.tiles) and table.elsewhere.sum() == len(start.seen)


@pytest.mark.parametrize("name", ["", "power-", "advise"])
def test_rules_that_there_are_not(name: str) -> None:
    with pytest.raises((KeyError, ValueError)):
        simulate.rule_of(name)


def test_each_moment_is_what_its_player_knew(file: Path) -> None:
    _, games = games_of(file)
    for game in games[:6]:
        moments = list(moments_of(game, "careful"))
        assert [len(m.kept.tiles) for m in moments[:6]] in ([10] * 6, [11] * 6)
        assert [len(m.seen) for m in moments[:3]] == [3, 6, 9]
        assert len({m.won for m in moments}) == 1


def test_incoming_shares_predict_what_came_in_where_they_were_measured(file: Path) -> None:
    _, games = games_of(file)
    shares = outcomes.shares_of(games, "careful")
    judged = outcomes.judge(games, shares, "careful", "advised")
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


def test_nobody_does_better_in_a_drill_than_who_sees_what_comes() -> None:
    seeing, advised, random = (
        np.mean([card_figures.drill(own(), rule, 3, number)[0] for number in range(16)])
        for rule in ("seeing", "advised", "random")
    )
    assert seeing > advised > random


def run(file: Path, games: int, *more: str) -> subprocess.CompletedProcess[str]:
    command = ["--card", "small", "--rules", QUICK, "--games", str(games), *more]
    script = [sys.executable, "-m", "tests.benchmarks.simulate", str(file), *command]
    return subprocess.run(script, capture_output=True, text=True, check=False, cwd=ROOT)


def test_going_on_drops_a_torn_line_keeps_finished_games_and_plays_the_rest(tmp_path: Path) -> None:
    whole, torn = tmp_path / "whole.jsonl", tmp_path / "torn.jsonl"
    assert "8/8 games" in run(whole, 8).stderr
    header, *lines = whole.read_text().splitlines()
    assert json.loads(header) == HEADER
    assert sorted(json.loads(line)["game"] for line in lines) == list(range(8))
    marked = json.dumps({**json.loads(lines[1]), "mark": "not played again"})
    torn.write_text("\n".join([header, lines[5], marked, lines[2][: len(lines[2]) // 2]]))
    assert "8/8 games" in run(torn, 8).stderr
    after = torn.read_text().splitlines()
    assert after[:3] == [header, lines[5], marked]
    assert sorted(after[3:]) == sorted(line for line in lines if line not in (lines[5], lines[1]))


@pytest.mark.parametrize("asked", [("--rules", "careful,careful,nearest,random"), ("--seed", "2")])
def test_the_script_refuses_a_file_of_another_run_before_it_plays(
    tmp_path: Path, asked: tuple[str, ...]
) -> None:
    file = tmp_path / "games.jsonl"
    file.write_text(json.dumps(HEADER) + "\n" + GAME)
    done = run(file, 8, *asked)
    assert done.returncode == 2 and "games.jsonl was made by another run" in done.stderr
    assert file.read_text() == json.dumps(HEADER) + "\n" + GAME


@pytest.mark.parametrize("other", [{"card": "full"}, {"second": False}, {"code": "0" * 16}, None])
def test_a_file_is_of_one_run_and_whole_lines(tmp_path: Path, other: dict[str, Any] | None) -> None:
    file = tmp_path / "games.jsonl"
    if other is None:
        file.write_text(json.dumps(HEADER) + '\n{"game":4}\n{"game":0}\n{"game":7')
        assert simulate.finished(file, HEADER) == {4, 0}
        assert file.read_text() == json.dumps(HEADER) + '\n{"game":4}\n{"game":0}\n'
        return
    text = json.dumps({**HEADER, **other}) + "\n" + GAME + '{"game":1'
    file.write_text(text)
    with pytest.raises(simulate.OtherRunError, match=r"games\.jsonl was made by another run"):
        simulate.finished(file, HEADER)
    assert file.read_text() == text


def test_the_digest_is_of_the_code_and_the_cards(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def digest(name: str, text: str) -> str:
        file = tmp_path / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text)
        return simulate.code_digest()

    monkeypatch.setattr(simulate, "ROOT", tmp_path)
    code = digest("solver/a.py", "x = 1")
    card = digest("patterns/cards/b.toml", "b")
    assert digest("solver/a.pyc", "compiled") == digest("api/c.py", "x = 1") == card
    assert len({code, card, digest("solver/a.py", "x = 2"), digest("patterns/cards/b.toml", "c")}) == 4
