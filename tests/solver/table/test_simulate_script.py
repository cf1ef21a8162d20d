"""The script that simulates games by the thousand: it stops and goes on without losing a game."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.benchmarks import appending, simulate

ROOT = Path(__file__).parents[3]
RULES = "careful,nearest,random,careful"
HEADER = {
    "card": "small",
    "rules": RULES.split(","),
    "seed": 1,
    "second": True,
    "code": appending.code_digest(),
}
GAME = '{"game":0}\n'


def run(file: Path, games: int, *more: str) -> subprocess.CompletedProcess[str]:
    command = ["--card", "small", "--rules", RULES, "--games", str(games), *more]
    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.simulate", file, *command],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    assert done.stdout == ""
    return done


def refusal(done: subprocess.CompletedProcess[str]) -> str:
    assert done.returncode == 2
    return done.stderr.splitlines()[-1]


def headed(header: dict[str, Any], rest: str = GAME) -> str:
    return json.dumps(header) + "\n" + rest


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
    before = torn.read_bytes()
    assert run(torn, 8).returncode == 0
    assert torn.read_bytes() == before


def test_finished_games_are_read_from_whole_lines_only(tmp_path: Path) -> None:
    file = tmp_path / "games.jsonl"
    file.write_text(headed(HEADER, '{"game":4}\n{"game":0}\n{"game":7'))
    assert appending.finished(file, HEADER) == {4, 0}
    assert file.read_text() == headed(HEADER, '{"game":4}\n{"game":0}\n')
    file.write_text(headed(HEADER, '{"game":1'))
    assert appending.finished(file, HEADER) == set()
    assert file.read_text() == headed(HEADER, "")


@pytest.mark.parametrize("found", [None, "", json.dumps(HEADER)[:40], json.dumps(HEADER)])
def test_a_file_without_a_whole_header_is_given_one(tmp_path: Path, found: str | None) -> None:
    file = tmp_path / "games.jsonl"
    if found is not None:
        file.write_text(found)
    assert appending.finished(file, HEADER) == set()
    assert file.read_text() == headed(HEADER, "")


@pytest.mark.parametrize(
    "other",
    [
        {"card": "full"},
        {"rules": ["careful", "careful", "nearest", "random"]},
        {"seed": 2},
        {"second": False},
        {"code": "0" * 16},
    ],
)
@pytest.mark.parametrize("rest", [GAME, GAME + '{"game":1'])
def test_a_file_of_another_run_is_refused_and_left_as_it_is(
    tmp_path: Path, other: dict[str, Any], rest: str
) -> None:
    file = tmp_path / "games.jsonl"
    file.write_text(headed({**HEADER, **other}, rest))
    with pytest.raises(appending.OtherRunError, match=r"games\.jsonl was made by another run"):
        appending.finished(file, HEADER)
    assert file.read_text() == headed({**HEADER, **other}, rest)


def test_a_file_of_games_without_a_header_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "games.jsonl"
    file.write_text(GAME)
    with pytest.raises(appending.OtherRunError):
        appending.finished(file, HEADER)
    assert file.read_text() == GAME


@pytest.mark.parametrize(
    ("found", "asked"),
    [
        ({"code": "0" * 16}, ()),
        ({}, ("--rules", "careful,careful,nearest,random")),
        ({}, ("--seed", "2")),
        ({}, ("--no-second",)),
    ],
)
def test_the_script_refuses_before_it_plays(
    tmp_path: Path, found: dict[str, Any], asked: tuple[str, ...]
) -> None:
    file = tmp_path / "games.jsonl"
    file.write_text(headed({**HEADER, **found}))
    assert "games.jsonl was made by another run" in refusal(run(file, 8, *asked))
    assert file.read_text() == headed({**HEADER, **found})


def test_the_script_refuses_rules_it_does_not_have(tmp_path: Path) -> None:
    file = tmp_path / "games.jsonl"
    for rules in ("careful,careful,careful", "careful,careful,careful,hasty"):
        assert "four rules of: advised" in refusal(run(file, 1, "--rules", rules))
    assert not file.exists()


def test_the_digest_is_of_the_code_and_the_cards(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def digest(name: str, text: str) -> str:
        file = tmp_path / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text)
        return appending.code_digest()

    monkeypatch.setattr(appending, "ROOT", tmp_path)
    code = digest("solver/a.py", "x = 1")
    card = digest("patterns/cards/b.toml", "b")
    assert digest("solver/a.pyc", "compiled") == digest("api/c.py", "x = 1") == card
    assert len({code, card, digest("solver/a.py", "x = 2"), digest("patterns/cards/b.toml", "c")}) == 4


def test_each_shuffle_is_played_four_times_with_the_rules_moved_on() -> None:
    names = RULES.split(",")
    games = [simulate.play("small", names, 1, True, number) for number in range(5)]
    firsts = [[made[2] for made in game["passes"][:4]] for game in games]
    assert firsts[0] == firsts[1] == firsts[2] == firsts[3] != firsts[4]
    for seat in range(4):
        assert sorted(game["rules"][seat] for game in games[:4]) == sorted(names)
    assert games[0]["rules"] == names == games[4]["rules"]
    assert games[1]["rules"] == [names[3], *names[:3]]
