"""Small versions of the published measurements, with exact results: they can be made again."""

import hashlib
import json
from pathlib import Path

import numpy as np
import pytest

from solver.arrivals import LATER_EXCHANGES, LENGTHS
from solver.rounds import Round
from solver.table.fit import fit_shares, reliability
from tests.benchmarks import calibrate, committed, drill_bound, measure_incoming, simulate, strength
from tests.benchmarks.games import games_of, moments_of

RULES = ["advised", "careful", "nearest", "random"]
GAMES = 24


def digest(found: object) -> str:
    return hashlib.sha256(json.dumps(found, sort_keys=True).encode()).hexdigest()[:16]


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("games") / "games.jsonl"
    games = [simulate.play("small", RULES, 11, True, number) for number in range(GAMES)]
    lines = [json.dumps(line, separators=(",", ":")) for line in games]
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
    chances = calibrate.chance_under(header["card"], grid, moments)
    assert chances.shape == (GAMES, 3) and (np.diff(chances, axis=1) >= 0).all(), "longer play, more chance"
    won = np.array([m.won for m in moments])
    shares = fit_shares(chances, won)
    found = reliability(chances @ shares, won, groups=4)
    assert (
        digest([shares.round(6).tolist(), round(found.error, 6), round(found.brier, 6)]) == "3b7e46a271bf847e"
    )


def test_what_is_judged_is_what_an_answer_states(file: Path) -> None:
    _, games = games_of(file)
    moments = [m for game in games[:6] for m in moments_of(game, "advised")]
    stated = calibrate.stated("small", moments)
    for moment, chance in zip(moments, stated, strict=True):
        coming = moment.coming + (LATER_EXCHANGES[moment.round] if moment.round else 0)
        futures = tuple((coming - moment.coming, each.draws, each.claims) for each in LENGTHS)
        mixed = calibrate.chance_under("small", futures, [moment])[0] @ [each.share for each in LENGTHS]
        # One target a hand for all lengths, or the best for each; more where one alone is likelier.
        assert chance > mixed - 0.01
    assert digest(stated.round(9).tolist()) == "3106e9d0ac290cb8"


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


def test_players_bound_to_one_target() -> None:
    """One shuffle for each pass to settle after, and when play begins."""
    stages = [*Round, None]
    games = [committed.play("small", 3, 4 * shuffle + shuffle % 4) for shuffle in range(len(stages))]
    for at, game in zip(stages, games, strict=True):
        made = [moment[0] and Round(moment[0]) for moment in game["moments"]]
        assert made[0] in (at, None) and made[-1] is None
        assert made == sorted(made, key=stages.index)
    assert digest(games) == "d0f6f4af26323a44"
    moments = committed.bound_moments(games)
    found = {}
    for stage in stages:
        reach = committed.predicted("small", moments[stage], 3, ((8, 4), (16, 12)))
        assert len(reach) and (reach[:, 0] < reach[:, 1]).all(), "longer play, more reach"
        found[stage and stage.value] = reach.round(9).tolist()
    later, means = committed.fit_later("small", moments[Round.FIRST_RIGHT])
    assert later in committed.LATERS and means == sorted(means), "more tiles, more reach"
    assert digest([list(found.items()), later, means]) == "155eab0e6cc382c9"


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
