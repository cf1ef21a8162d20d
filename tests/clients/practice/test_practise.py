"""Laps played with typed input, an exact clock and the real service in this process."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result
from starlette.testclient import TestClient

from clients.cli.main import cli
from clients.cli.practice import practise
from tests.clients.practice.typist import Clock, Step, Typist, first_passes, logged

Deals = Callable[..., dict[str, Any]]
Play = Callable[..., Result]
Steps = Callable[..., list[Step]]


def test_a_lap_is_timed_graded_and_logged(
    play: Play, steps_of: Steps, deal_of: Deals, log: Path, api: TestClient
) -> None:
    result = play(steps_of([41.25, 30.5, 40.25]))
    assert (result.exit_code, result.stderr) == (0, "")
    (entry,) = logged(log)
    deal = deal_of()
    assert {
        name: entry[name] for name in ("threepass_log", "client", "card", "seed", "deal", "finished")
    } == {
        "threepass_log": 1,
        "client": "terminal",
        "card": "small",
        "seed": 11,
        "deal": 0,
        "finished": True,
    }
    assert list(entry) == [
        "threepass_log",
        "at",
        "client",
        "card",
        "seed",
        "deal",
        "finished",
        "record",
        "result",
    ]
    assert entry["record"]["rack"] == deal["rack"]
    exchanges = entry["record"]["exchanges"]
    assert [exchange["seconds"] for exchange in exchanges] == [41.25, 30.5, 40.25]
    assert [exchange["round"] for exchange in exchanges] == ["first_right", "first_across", "first_left"]
    assert [tile for exchange in exchanges for tile in exchange["received"]] == deal["heap"][:9]
    assert "Time              1:52.0 in all, pace: advanced" in result.stdout
    assert "Average" not in result.stdout
    # What was logged, sent again, gives what was logged.
    answer = api.post("/v1/reviews", json={"records": [entry["record"]]}).json()
    review = answer["reviews"][0]
    assert entry["result"] == {
        "given_up": review["given_up"],
        "share_within_resolution": answer["session"]["within_resolution"],
        "tiles_away": review["tiles_away"],
        "seconds": 112.0,
        "pace": "advanced",
    }
    assert [graded["given"] for graded in review["passes"]] == [exchange["given"] for exchange in exchanges]


def test_three_laps_average_to_the_tenth(play: Play, steps_of: Steps, log: Path, api: TestClient) -> None:
    # 1:52, 2:07 and 1:58 are 112, 127 and 118 seconds: 357 in all, 119 a lap.
    laps = [[40.0, 32.0, 40.0], [50.0, 37.0, 40.0], [38.0, 40.0, 40.0]]
    result = play([step for index, lap in enumerate(laps) for step in steps_of(lap, index)], "--laps", "3")
    assert (result.exit_code, result.stderr) == (0, "")
    said = re.findall(r"^  Time +(\S+) a lap$", result.stdout, re.MULTILINE)
    assert said == ["1:52.0", "1:59.5", "1:59.0"], "the running average after each lap"
    entries = logged(log)
    assert [entry["deal"] for entry in entries] == [0, 1, 2]
    assert [entry["result"]["pace"] for entry in entries] == ["advanced", "intermediate", "advanced"]
    session = api.post("/v1/reviews", json={"records": [entry["record"] for entry in entries]}).json()[
        "session"
    ]
    assert (session["seconds"], session["time"]) == (119.0, "1:59.0")


def test_a_blind_pass(play: Play, deal_of: Deals, log: Path) -> None:
    first, second, third = first_passes(deal_of(), 3)
    steps: list[Step] = [(9.0, "\n"), *((1.0, " ".join(given) + "\n") for given in (first, second))]
    result = play([*steps, (2.0, f"{third[0]} {third[1]} +1\n")])
    assert result.exit_code == 0
    assert "first left (blind allowed: +1" in result.stdout
    left = logged(log)[0]["record"]["exchanges"][2]
    assert (left["blind"], len(left["given"]), left["received"]) == (1, 2, deal_of()["heap"][6:8])
    assert f"Came in: {'  '.join(deal_of()['heap'][6:8])}\n" in result.stdout.replace("   ", "  ")


def test_faults_are_named_and_the_clock_runs_on(play: Play, deal_of: Deals, log: Path) -> None:
    rack = deal_of()["rack"]
    (given,) = first_passes(deal_of(0, 1), 1)
    missing = next(token for token in ("9d", "9b", "S", "W") if token not in rack)
    steps: list[Step] = [(0.0, "\n"), (10.0, f"J {missing} {given[0]} 0x\n"), (5.0, "?\n"), (2.5, "\n")]
    result = play([*steps, (4.25, " ".join(given) + "\n")], "--rounds", "1")
    assert result.exit_code == 0
    for fault in (
        "'0x' is not a tile",
        "a joker may never be passed",
        "is not on your rack",
        "0 tiles: first right",
    ):
        assert fault in result.stdout
    assert "Type the tokens of the tiles to pass" in result.stdout
    (exchange,) = logged(log)[0]["record"]["exchanges"]
    assert exchange["seconds"] == 21.75


def test_a_pause_hides_the_rack_and_does_not_count(
    play: Play, deal_of: Deals, log: Path, monkeypatch: Any
) -> None:
    hidden: list[str] = []
    monkeypatch.setattr("clients.cli.practice.console.click.clear", lambda: hidden.append("cleared"))
    (given,) = first_passes(deal_of(0, 1), 1)
    steps: list[Step] = [(3.0, "\n"), (8.5, "p\n"), (3600.0, "\n"), (1.5, "pause\n"), (90.0, "\n")]
    result = play([*steps, (4.0, " ".join(given) + "\n")], "--rounds", "1")
    assert result.exit_code == 0
    assert hidden == ["cleared"] * 2
    assert "Paused at 0:08.5" in result.stdout
    assert "Paused at 0:10.0" in result.stdout
    assert result.stdout.count("Round 1 of 1: first right") == 3, "the rack is shown again after a pause"
    assert logged(log)[0]["record"]["exchanges"][0]["seconds"] == 14.0


def test_a_lap_can_be_played_again(play: Play, steps_of: Steps, log: Path) -> None:
    for _ in range(2):
        result = play(steps_of([1.0], 4), "--rounds", "1", "--start", "4")
        assert "The same again: --seed 11 --start 4 --rounds 1 --card small\n" in result.stdout
    first, second = logged(log)
    assert first["deal"] == second["deal"] == 4
    assert first["record"] == second["record"]


def test_difficulty_is_measured_by_the_service(play: Play, api: TestClient, log: Path) -> None:
    wish = {"seed": 11, "card": "small", "drill": {"exchanges_left": 1}, "difficulty": "clear"}
    index = api.post("/v1/deals", json=wish).json()["deals"][0]["index"]
    result = play([(0.0, "\n"), (0.0, "q\n")], "--difficulty", "clear", "--rounds", "1")
    assert result.exit_code == 0
    assert logged(log)[0]["deal"] == index


def test_a_card_of_ones_own_is_logged_with_its_text(
    card_file: Path, log: Path, steps_of: Steps, monkeypatch: Any, api: TestClient
) -> None:
    clock = Clock()
    monkeypatch.setattr(practise, "monotonic", clock)
    arguments = ["practise", "--card", str(card_file), "--seed", "11", "--rounds", "1", "--log", str(log)]
    result = CliRunner().invoke(cli, arguments, input=Typist(clock, steps_of([5.0])))
    assert result.exit_code == 0, result.stderr
    (entry,) = logged(log)
    assert (entry["card"], entry["record"]["card"]["file"]) == ("my-card.toml", "my-card.toml")
    answer = api.post("/v1/reviews", json={"records": [entry["record"]]}).json()
    assert answer["reviews"][0]["given_up"] == entry["result"]["given_up"]


def test_twelve_rounds_begin_again_after_six(play: Play, steps_of: Steps, log: Path) -> None:
    result = play(steps_of([1.0] * 12), "--rounds", "12")
    assert result.exit_code == 0, result.stderr
    rounds = [exchange["round"] for exchange in logged(log)[0]["record"]["exchanges"]]
    assert rounds[6:] == rounds[:6]


def test_no_log_when_none_is_wanted(play: Play, steps_of: Steps, tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert play(steps_of([1.0]), "--rounds", "1", "--no-log", where=None).exit_code == 0
    assert list(tmp_path.rglob("*.jsonl")) == []
    assert play(steps_of([1.0]), "--rounds", "1", where=None).exit_code == 0
    assert [path.name for path in tmp_path.rglob("*.jsonl")] == ["practice.jsonl"]


def test_without_box_characters_in_the_encoding(play: Play, log: Path, monkeypatch: Any) -> None:
    monkeypatch.setattr("clients.cli.practice.console.can_box", lambda _: False)
    result = play([(0.0, "\n"), (0.0, "q\n")])
    assert result.exit_code == 0
    assert ".------." in result.stdout
    assert result.stdout.isascii()


def test_bytes_that_are_no_text_are_a_typing_fault(play: Play, deal_of: Deals, log: Path) -> None:
    class Garbled(str):
        def encode(self, *_: Any) -> bytes:
            return b"\xff\xfe\n"

    (given,) = first_passes(deal_of(0, 1), 1)
    result = play([(0.0, "\n"), (0.0, Garbled()), (0.0, " ".join(given) + "\n")], "--rounds", "1")
    assert (result.exit_code, result.stderr) == (0, "")
    assert "is not a tile" in result.stdout
    assert logged(log)[0]["finished"] is True


def test_wrong_usage(play: Play) -> None:
    for options in (("--rounds", "13"), ("--laps", "0"), ("--seed", "-1"), ("--no-log",)):
        assert play([], *options).exit_code == 2
    refused = play([], "--card", "nowhere")
    assert (refused.exit_code, refused.stdout) == (1, "")
    assert refused.stderr.startswith("card: ")


def test_every_line_fits_a_page(play: Play, steps_of: Steps) -> None:
    asked: list[Step] = [(0.0, "?\n"), (0.0, "4b\n"), (0.0, "p\n"), (0.0, "\n")]
    ready, *passes = steps_of([1.0] * 12)
    result = play([ready, *(step for one in passes for step in (*asked, one))], "--rounds", "12")
    assert result.exit_code == 0
    # What is typed is not echoed here, so that an answer follows its prompt on the same line.
    lines = re.split(r"\n|(?<=> )|(?<=stops: )", result.stdout)
    assert len(lines) > 12 * 4 * 8
    assert [line for line in lines if len(line) > 80] == []
