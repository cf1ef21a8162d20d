"""Laps played with typed input, an exact clock and the real service; none is lost, however it ends."""

import errno
import json
import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from clients.cli import practice
from clients.cli.main import cli
from clients.cli.output import Exit, Failure
from clients.cli.service import Reply
from tests.clients.conftest import Ask, Deals, Play, Posting, Run, Steps
from tests.clients.typist import Clock, Step, Typist, first_passes, logged


def test_a_lap_is_timed_graded_and_logged(
    play: Play, steps_of: Steps, deal_of: Deals, log: Path, ask: Ask
) -> None:
    result = play(steps_of([41.25, 30.5, 40.25]))
    assert (result.exit_code, result.stderr) == (0, "")
    (entry,) = logged(log)
    deal = deal_of()
    names = "threepass_log at client card seed deal finished record result"
    assert list(entry) == names.split()
    told = [entry[name] for name in ("threepass_log", "client", "card", "seed", "deal", "finished")]
    assert told == [1, "terminal", "small", 11, 0, True]
    assert entry["record"]["rack"] == deal["rack"]
    exchanges = entry["record"]["exchanges"]
    assert [exchange["seconds"] for exchange in exchanges] == [41.25, 30.5, 40.25]
    assert [exchange["round"] for exchange in exchanges] == ["first_right", "first_across", "first_left"]
    assert [tile for exchange in exchanges for tile in exchange["received"]] == deal["heap"][:9]
    assert "Time              1:52.0 in all\n" in result.stdout
    assert "Average" not in result.stdout
    # What was logged, sent again, gives what was logged.
    answer = json.loads(ask("/v1/reviews", {"records": [entry["record"]]}))
    review = answer["reviews"][0]
    assert entry["result"] == review["kept"]
    whole = [review["given_up"], answer["session"]["within_resolution"], review["tiles_away"], 112.0, None]
    kept = dict(review["kept"])
    assert [each["share"] for each in kept.pop("passes")] == [each["share"] for each in review["passes"]]
    assert list(kept.values()) == whole
    assert [graded["given"] for graded in review["passes"]] == [exchange["given"] for exchange in exchanges]


def test_three_laps_average_to_the_tenth(play: Play, steps_of: Steps, log: Path, ask: Ask) -> None:
    # 1:52, 2:07 and 1:58 are 112, 127 and 118 seconds: 357 in all, 119 a lap.
    laps = [[40.0, 32.0, 40.0], [50.0, 37.0, 40.0], [38.0, 40.0, 40.0]]
    result = play([step for index, lap in enumerate(laps) for step in steps_of(lap, index)], "--laps", "3")
    assert (result.exit_code, result.stderr) == (0, "")
    said = re.findall(r"^  Time +(\S+) a lap$", result.stdout, re.MULTILINE)
    assert said == ["1:52.0", "1:59.5", "1:59.0"], "the running average after each lap"
    entries = logged(log)
    assert [entry["deal"] for entry in entries] == [0, 1, 2]
    records = [entry["record"] for entry in entries]
    session = json.loads(ask("/v1/reviews", {"records": records}))["session"]
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
    steps: list[Step] = [
        (0.0, "\n"),
        (8.0, f"J {missing} {given[0]} 0x\n"),
        (2.0, f"J {missing} {given[0]}\n"),
    ]
    steps += [(5.0, "?\n"), (2.5, "\n"), (4.25, " ".join(given) + "\n")]
    result = play(steps, "--rounds", "1")
    assert result.exit_code == 0
    for fault in (
        "'0x' is not a tile",
        "a joker may never be passed",
        ": the rack has none",
        "0 given: first right takes 3",
    ):
        assert fault in result.stdout
    assert "Type the tiles to pass" in result.stdout
    (exchange,) = logged(log)[0]["record"]["exchanges"]
    assert exchange["seconds"] == 21.75


def test_a_courtesy_pass_ends_the_lap(play: Play, deal_of: Deals, log: Path, ask: Ask) -> None:
    first, _ = first_passes(deal_of(0, 2), 2)
    held = [token for token in deal_of(0, 2)["rack"] if token != "J"]
    given = next(token for token in held if held.count(token) > first.count(token))
    steps: list[Step] = [(0.0, "\n"), (1.0, " ".join(first) + "\n"), (1.0, "\n"), (2.0, given + "\n")]
    result = play(steps, "--rounds", "1", "--courtesy")
    assert result.exit_code == 0, result.stderr
    assert "Round 2 of 2: courtesy (0 to 3 tiles; the heap gives as many as you do)" in result.stdout
    assert 'or "0" for none' in result.stdout
    assert "--rounds 1 --courtesy --card small" in result.stdout
    (entry,) = logged(log)
    courtesy = entry["record"]["exchanges"][1]
    assert (courtesy["round"], courtesy["given"]) == ("courtesy", [given])
    assert courtesy["received"] == deal_of(0, 2)["heap"][3:4]
    assert json.loads(ask("/v1/reviews", {"records": [entry["record"]]}))["session"]["laps"] == 1
    assert entry["result"] is not None


def test_the_other_spelling_is_the_same_command(run: Run) -> None:
    spelled = run("practise", "--help")
    assert spelled.exit_code == 0
    assert spelled.stdout.partition("\n")[2] == run("practice", "--help").stdout.partition("\n")[2]
    assert "practise" not in run("--help").stdout


def test_a_pause_hides_the_rack_and_does_not_count(
    play: Play, deal_of: Deals, log: Path, monkeypatch: Any
) -> None:
    hidden: list[str] = []
    monkeypatch.setattr("clients.cli.play.click.clear", lambda: hidden.append("cleared"))
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


def test_a_card_of_ones_own_is_logged_with_its_text(
    card_file: Path, log: Path, steps_of: Steps, monkeypatch: Any, ask: Ask
) -> None:
    clock = Clock()
    monkeypatch.setattr(practice, "monotonic", clock)
    arguments = ["practice", "--card", str(card_file), "--seed", "11", "--rounds", "1", "--log", str(log)]
    result = CliRunner().invoke(cli, arguments, input=Typist(clock, steps_of([5.0])))
    assert result.exit_code == 0, result.stderr
    (entry,) = logged(log)
    assert (entry["card"], entry["record"]["card"]["file"]) == ("my-card.toml", "my-card.toml")
    answer = json.loads(ask("/v1/reviews", {"records": [entry["record"]]}))
    assert answer["reviews"][0]["given_up"] == entry["result"]["strength_given_up"]


def test_twelve_rounds_begin_again_after_six(play: Play, steps_of: Steps, log: Path) -> None:
    result = play(steps_of([1.0] * 12), "--rounds", "12")
    assert result.exit_code == 0, result.stderr
    rounds = [exchange["round"] for exchange in logged(log)[0]["record"]["exchanges"]]
    assert rounds[6:] == rounds[:6]
    assert result.stdout.count("(extra exchange)") == 6
    assert "pace: advanced" in result.stdout, "twelve passes are a whole Charleston"


def test_no_log_when_none_is_wanted(play: Play, steps_of: Steps, tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert play(steps_of([1.0]), "--rounds", "1", "--no-log", where=None).exit_code == 0
    assert list(tmp_path.rglob("*.jsonl")) == []
    assert play(steps_of([1.0]), "--rounds", "1", where=None).exit_code == 0
    assert [path.name for path in tmp_path.rglob("*.jsonl")] == ["practice.jsonl"]


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
    for options in (
        ("--rounds", "13"),
        ("--laps", "0"),
        ("--seed", "-1"),
        ("--no-log",),
        ("--rounds", "12", "--courtesy"),
        ("--single", "--again"),
        ("--single", "--courtesy"),
        ("--round", "first-left"),
        ("--single", "--round", "up"),
        ("--again", "--more-than", "101"),
        *(("--table", other) for other in ("--single", "--again", "--courtesy")),
    ):
        result = play([], *options)
        assert (result.exit_code, result.stdout) == (2, ""), options
        assert "--table" not in options or "exclude each other" in result.stderr
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


@pytest.mark.parametrize("typed", ["q\n", "p\n"])
def test_q_stops_the_lap_and_the_next_can_begin(play: Play, steps_of: Steps, log: Path, typed: str) -> None:
    played = steps_of([10.0, 20.0, 5.0])
    stop: list[Step] = [(7.0, "q\n")] if typed == "q\n" else [(7.0, "p\n"), (99.0, "q\n")]
    after = [*stop, *steps_of([1.0, 1.0, 1.0], 1)]
    result = play([*played[:3], *after], "--laps", "2")
    assert result.exit_code == 0
    assert "stopped after 2 rounds" in result.stderr
    first, second = logged(log)
    assert (first["finished"], first["result"]) == (False, None)
    assert [exchange["seconds"] for exchange in first["record"]["exchanges"]] == [10.0, 20.0]
    assert (second["finished"], second["deal"]) == (True, 1)
    assert "Average over 1 lap\n" in result.stdout, "the lap that was stopped counts in no average"


def test_q_before_the_clock_starts_ends_without_a_lap(play: Play, log: Path) -> None:
    result = play([(5.0, "q\n")], "--laps", "3")
    assert (result.exit_code, result.stderr) == (0, "")
    assert "first right" not in result.stdout, "the rack is not shown before the clock runs"
    assert not log.exists()


@pytest.mark.parametrize(("key", "code"), [(KeyboardInterrupt, 130), ("", 0)])
def test_the_lap_under_way_is_logged_when_the_session_ends(
    play: Play, steps_of: Steps, log: Path, key: Any, code: int, ask: Ask
) -> None:
    result = play([*steps_of([10.0, 20.0, 5.0])[:2], (4.0, key)], "--laps", "2")
    assert result.exit_code == code
    assert "stopped after 1 round:" in result.stderr
    (entry,) = logged(log)
    assert (entry["finished"], entry["result"]) == (False, None)
    (exchange,) = entry["record"]["exchanges"]
    assert exchange["seconds"] == 10.0
    # A part of a lap can be reviewed by itself.
    assert json.loads(ask("/v1/reviews", {"records": [entry["record"]]}))["session"]["laps"] == 1


def test_ctrl_c_in_a_pause_and_before_any_pass(play: Play, log: Path) -> None:
    result = play([(0.0, "\n"), (1.0, "p\n"), (1.0, KeyboardInterrupt)])
    assert result.exit_code == 130
    assert logged(log)[0]["record"]["exchanges"] == []
    log.unlink()
    assert play([(0.0, KeyboardInterrupt)]).exit_code == 130
    assert not log.exists()


@pytest.mark.parametrize(
    ("error", "code"), [(Failure(Exit.UNREACHABLE, "no answer from there"), 3), (KeyboardInterrupt(), 130)]
)
def test_a_lap_without_its_review_is_logged(
    play: Play, steps_of: Steps, log: Path, posting: Posting, error: BaseException, code: int
) -> None:
    steps = steps_of([10.0, 20.0, 5.0])

    def fail(path: str, _body: bytes, real: Callable[[], Reply]) -> Reply:
        if path == "/v1/reviews":
            raise error
        return real()

    posting(fail)
    result = play(steps)
    assert result.exit_code == code
    (entry,) = logged(log)
    assert (entry["finished"], entry["result"], len(entry["record"]["exchanges"])) == (True, None, 3)


def test_a_terminal_that_is_gone_ends_the_session(play: Play, log: Path) -> None:
    assert play([(0.0, "\n"), (1.0, OSError)]).exit_code == 0
    assert logged(log)[0]["finished"] is False


def full_disk(*_: object) -> int:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def lines_to_keep(stderr: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in stderr.splitlines() if line.startswith('{"threepass_log"')]


def test_a_full_disk_loses_nothing(
    play: Play, steps_of: Steps, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "fsync", full_disk)
    result = play([*steps_of([10.0], 0), *steps_of([20.0], 1)], "--rounds", "1", "--laps", "2")
    assert result.exit_code == Exit.NOT_WRITTEN == 5
    assert result.stderr.count("No space left on device") == 2
    entries = lines_to_keep(result.stderr)
    assert [entry["deal"] for entry in entries] == [0, 1]
    assert [entry["result"]["seconds"] for entry in entries] == [10.0, 20.0]
    assert "Average over 2 laps" in result.stdout


def test_a_log_that_cannot_be_opened(play: Play, tmp_path: Path) -> None:
    result = play([(0.0, "\n"), (1.0, KeyboardInterrupt)], where=tmp_path)
    assert result.exit_code == Exit.NOT_WRITTEN, "what must be kept by hand outweighs the interruption"
    (entry,) = lines_to_keep(result.stderr)
    assert entry["finished"] is False


def test_no_deal_of_that_kind(play: Play, foreign: Callable[[bytes], None]) -> None:
    foreign(b'{"deals": [], "complete": false, "tried": 400, "seed": 11}')
    result = play([(0.0, "\n")], "--difficulty", "clear")
    assert result.exit_code == 1
    assert result.stderr == "no clear deal among 400 tried: another seed or start may have one\n"


@pytest.mark.parametrize("stop", [False, True])
def test_a_lap_at_a_table_is_that_of_the_service(play: Play, log: Path, ask: Ask, stop: bool) -> None:
    """The lap as the service says that it goes, typed pass by pass; nobody else stops deal 3 of the seed."""
    exchanges: list[dict[str, Any]] = []
    steps: list[Step] = [(60.0, "\n")]
    while True:
        asked = {"seed": 11, "index": 3, "card": "small", "exchanges": exchanges}
        table = json.loads(ask("/v1/tables", asked))
        if not table["rounds"]:
            break
        round_ = table["rounds"][-1 if stop else 0]
        if stop and len(table["rounds"]) > 1:
            steps.append((1.0, "c\n"))
        naturals = [token for token in table["rack"] if token != "J"]
        if round_ == "courtesy" and table["most"] < 3:
            steps.append((1.0, " ".join(naturals[: table["most"] + 1]) + "\n"))
        given = naturals[: table["most"] if round_ == "courtesy" else 3]
        steps.append((9.0, (" ".join(given) or "0") + "\n"))
        exchanges.append({"round": round_, "given": given, "blind": 0})
    assert len(exchanges) == (4 if stop else 7)
    result = play(steps, "--table", "--start", "3")
    assert (result.exit_code, result.stderr) == (0, "")
    (entry,) = logged(log)
    record = entry["record"]
    assert (record["drill"], entry["finished"], entry["deal"]) == (False, True, 3)
    played = [{name: each[name] for name in ("round", "given", "blind")} for each in record["exchanges"]]
    assert played == exchanges
    assert [each["received"] for each in record["exchanges"]] == table["received"]
    answer = json.loads(ask("/v1/reviews", {"records": [record]}))
    assert entry["result"] == answer["reviews"][0]["kept"]
    assert "The same again: --seed 11 --start 3 --table --card small" in result.stdout
    assert "The others would play the second Charleston." in result.stdout
    assert ("Round 4: courtesy" in result.stdout) is stop
