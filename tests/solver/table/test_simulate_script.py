"""The script that simulates games by the thousand: it stops and goes on without losing a game."""

import importlib.util
import json
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[3]
SCRIPT = ROOT / "tests" / "benchmarks" / "simulate.py"
RULES = "careful,nearest,random,careful"


def run(file: Path, games: int) -> str:
    done = subprocess.run(
        [sys.executable, SCRIPT, file, "--card", "small", "--rules", RULES, "--games", str(games)],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
        env={"PYTHONPATH": str(ROOT)},
    )
    assert done.stdout == ""
    return done.stderr


@pytest.fixture(scope="module")
def script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("simulate_script", SCRIPT)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def test_going_on_drops_a_torn_line_keeps_finished_games_and_plays_the_rest(tmp_path: Path) -> None:
    whole, torn = tmp_path / "whole.jsonl", tmp_path / "torn.jsonl"
    assert "8/8 games" in run(whole, 8)
    lines = whole.read_text().splitlines()
    assert sorted(json.loads(line)["game"] for line in lines) == list(range(8))
    marked = json.dumps({**json.loads(lines[1]), "mark": "not played again"})
    torn.write_text("\n".join([lines[5], marked, lines[2][: len(lines[2]) // 2]]))
    assert "8/8 games" in run(torn, 8)
    after = torn.read_text().splitlines()
    assert after[:2] == [lines[5], marked]
    assert sorted(after[2:]) == sorted(line for line in lines if line not in (lines[5], lines[1]))
    before = torn.read_bytes()
    run(torn, 8)
    assert torn.read_bytes() == before


def test_finished_games_are_read_from_whole_lines_only(script: ModuleType, tmp_path: Path) -> None:
    file = tmp_path / "games.jsonl"
    assert script.finished(file) == set()
    assert not file.exists()
    file.write_text('{"game":4}\n{"game":0}\n{"game":7')
    assert script.finished(file) == {4, 0}
    assert file.read_text() == '{"game":4}\n{"game":0}\n'
    file.write_text('{"game":1')
    assert script.finished(file) == set()
    assert file.read_text() == ""


def test_each_shuffle_is_played_four_times_with_the_rules_moved_on(script: ModuleType) -> None:
    names = RULES.split(",")
    games = [json.loads(script.play(("small", names, 1, number, True))) for number in range(5)]
    firsts = [[made[2] for made in game["passes"][:4]] for game in games]
    assert firsts[0] == firsts[1] == firsts[2] == firsts[3] != firsts[4]
    for seat in range(4):
        assert sorted(game["rules"][seat] for game in games[:4]) == sorted(names)
    assert games[0]["rules"] == names == games[4]["rules"]
    assert games[1]["rules"] == [names[3], *names[:3]]
