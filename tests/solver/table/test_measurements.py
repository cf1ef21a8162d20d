"""Small versions of the published measurements, with exact results: they can be made again."""

import hashlib
import json
from pathlib import Path

import numpy as np
import pytest

from solver.calibration.lengths import fit_shares, some_hand
from solver.calibration.reliability import reliability
from tests.benchmarks import calibrate, committed, drill_bound, measure_incoming, simulate, strength
from tests.benchmarks.games import games_of, moments_of

RULES = ["advised", "careful", "nearest", "random"]
GAMES = 24


def digest(found: object) -> str:
    return hashlib.sha256(json.dumps(found, sort_keys=True).encode()).hexdigest()[:16]


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("games") / "games.jsonl"
    lines = [simulate.play(("small", RULES, 11, number, True)) for number in range(GAMES)]
    path.write_text("\n".join([json.dumps({"card": "small", "rules": RULES, "seed": 11}), *lines, ""]))
    return path


def test_games_are_the_same_everywhere(file: Path) -> None:
    assert hashlib.sha256(file.read_bytes()).hexdigest()[:16] == "08fe6bd2e5cfcb39"


def test_wins_and_racks_after_the_charleston(file: Path) -> None:
    _, games = games_of(file)
    wins = {rule: strength.wins_by_shuffle(games, rule).sum(axis=0).tolist() for rule in RULES}
    assert all(sat == GAMES for _, sat in wins.values())
    assert sum(won for won, _ in wins.values()) == sum(game["winner"] is not None for game in games)
    stand = {rule: [round(x, 9) for x in strength.standing("small", games, rule)] for rule in RULES}
    assert digest([wins, stand]) == "ffca70ad8a0fee10"
    assert stand["advised"][2] > stand["random"][2]
    first, other = (strength.wins_by_shuffle(games, rule) for rule in ("advised", "random"))
    times, low, high = strength.ratio(first + 1, other + 1)
    assert low <= times <= high


def test_lengths_fitted_and_judged(file: Path) -> None:
    header, games = games_of(file)
    moments = [m for game in games for m in moments_of(game, "advised") if m.round is None]
    assert len(moments) == GAMES
    grid = ((0, 8, 4), (0, 16, 4), (0, 20, 18))
    chances = some_hand(calibrate.reach_under(header["card"], grid, moments))
    assert chances.shape == (GAMES, 3) and (np.diff(chances, axis=1) >= 0).all(), "longer play, more chance"
    won = np.array([m.won for m in moments])
    shares = fit_shares(chances, won)
    found = reliability(chances @ shares, won, groups=4)
    assert (
        digest([shares.round(6).tolist(), round(found.error, 6), round(found.brier, 6)]) == "3b7e46a271bf847e"
    )


def test_each_moment_is_what_its_player_knew(file: Path) -> None:
    _, games = games_of(file)
    for game in games[:6]:
        moments = list(moments_of(game, "careful"))
        assert [len(m.kept.tiles) for m in moments[:6]] in ([10] * 6, [11] * 6)
        assert [len(m.seen) for m in moments[:3]] == [3, 6, 9]
        assert len({m.won for m in moments}) == 1


def test_incoming_shares(file: Path) -> None:
    _, games = games_of(file)
    shares = measure_incoming.shares_of(games, "careful")
    said = {r.value: {s.value: round(x, 9) for s, x in found.items()} for r, found in shares.items()}
    assert digest(said) == "db3be26f7bfaf009"
    judged = measure_incoming.judge(games, shares, "careful", "advised")
    assert all(ours > flat for ours, flat, _ in judged.values()), "measured on the same games"


def test_players_bound_to_one_hand() -> None:
    found = [committed.bound_game("small", 3, number) for number in range(8)]
    assert [shuffle for shuffle, *_ in found] == [0] * 4 + [1] * 4
    for _, reach, _ in found:
        assert len(reach) == len(committed.LENGTHS_TRIED) + 1
        by_length = dict(zip(committed.LENGTHS_TRIED, reach, strict=False))
        assert by_length[24, 32] > by_length[8, 0], "longer play, more reach"
        # The default is a mixture of lengths that lie between these.
        assert by_length[16, 4] <= reach[-1] <= by_length[20, 18]
    said = [[shuffle, [round(each, 9) for each in reach], done] for shuffle, reach, done in found]
    assert digest(said) == "f46108f2283c8313"


def test_nobody_does_better_in_a_drill_than_who_sees_what_comes() -> None:
    card = drill_bound.shipped_card("small")
    played = {
        rule: [drill_bound.play(card, rule, 3, number)[0] for number in range(12)]
        for rule in ("seeing", "advised", "random")
    }
    means = {rule: float(np.mean(values)) for rule, values in played.items()}
    assert means["seeing"] > means["advised"] > means["random"]
    said = {rule: [round(x, 9) for x in values] for rule, values in played.items()}
    assert digest(said) == "7b15352833ffd199"
