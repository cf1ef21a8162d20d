"""The table, the trend and the JSON of a log."""

import json
import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from clients.cli.main import cli

Run = Callable[..., Result]


@pytest.fixture(autouse=True)
def _utc(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("TZ", "UTC")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def entry(
    at: str = "2026-11-25T14:00:00+00:00", seconds: float | None = 120.0, **members: Any
) -> dict[str, Any]:
    """A line of a log: a lap of one pass."""
    given_up, share, away = members.pop("graded", (0.25, 1.0, 4))
    result = {"given_up": given_up, "share_within_resolution": share, "tiles_away": away, "seconds": seconds}
    exchange = {
        "round": "first_right",
        "given": ["4b", "4c", "E"],
        "received": ["N", "N", "N"],
        "seconds": seconds,
    }
    exchange = {"round": "first_right", "given": ["4b"], "received": ["N"], "seconds": seconds}
    return {
        "threepass_log": 1,
        "at": at,
        "client": "web",
        "card": "small",
        "seed": 11,
        "deal": 3,
        "finished": True,
        "record": {"rack": "4b 4c E", "exchanges": [exchange], "drill": True},
        "result": {**result, "pace": "advanced"},
        **members,
    }


def write(path: Path, *lines: dict[str, Any] | bytes) -> None:
    path.write_bytes(
        b"".join(line if isinstance(line, bytes) else json.dumps(line).encode() + b"\n" for line in lines)
    )


@pytest.fixture
def progress(log: Path) -> Run:
    def run(*options: str) -> Result:
        return CliRunner().invoke(cli, ["progress", "--log", str(log), *options])

    return run


def test_a_table_of_laps_and_the_trend(progress: Run, log: Path) -> None:
    write(
        log,
        entry("2026-11-24T09:00:00+00:00", 112.0, graded=(0.4, 0.0, 6)),
        entry("2026-11-24T09:10:00+00:00", 127.0, graded=(0.2, 0.0, 5)),
        entry("2026-11-25T09:00:00+00:00", 118.0, graded=(0.1, 1.0, 5)),
        entry("2026-11-25T10:00:00+01:00", 99.96, graded=(0.1, 0.0, 4)),
        entry("2026-11-26T09:00:00+00:00", 110.0, graded=(0.0, 1.0, 4)),
    )
    result = progress()
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.splitlines() == [
        "  Date              Laps    Time  Given up  As good  Tiles away",
        "  2026-11-24 09:00     1  1:52.0    0.4000    0.0 %         6.0",
        "  2026-11-24 09:10     1  2:07.0    0.2000    0.0 %         5.0",
        "  2026-11-25 09:00     1  1:58.0    0.1000  100.0 %         5.0",
        "  2026-11-25 09:00     1  1:40.0    0.1000    0.0 %         4.0",
        "  2026-11-26 09:00     1  1:50.0    0.0000  100.0 %         4.0",
        "",
        "First 2 laps against the last 2",
        "  Time              1:59.5, then 1:45.0: 0:14.5 faster",
        "  Given up          0.3000, then 0.0500: 0.2500 less",
        "  As good as best   0.0 %, then 50.0 %: 50.0 % more",
        "  Tiles away        5.5, then 4.0: 1.5 nearer",
        "  Deals differ: a small change between so few laps may be luck.",
    ]


def test_a_table_of_days(progress: Run, log: Path) -> None:
    # 1:52, 2:07 and 1:58 average 1:59.0.
    times = ((10, 112.0), (11, 127.0), (12, 118.0))
    write(
        log,
        entry("2026-11-24T23:30:00+00:00", 90.0),
        *(entry(f"2026-11-25T{hour}:00:00+00:00", seconds) for hour, seconds in times),
    )
    lines = progress("--by", "day").stdout.splitlines()
    assert [line.split()[:3] for line in lines[1:3]] == [
        ["2026-11-24", "1", "1:30.0"],
        ["2026-11-25", "3", "1:59.0"],
    ]


def test_a_day_is_the_players_own(progress: Run, log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(log, entry("2026-11-24T23:30:00+00:00"))
    monkeypatch.setenv("TZ", "XXX-2")
    time.tzset()
    assert "  2026-11-25  " in progress("--by", "day").stdout


def test_laps_of_two_clients_are_put_in_order(progress: Run, log: Path) -> None:
    write(log, entry("2026-11-26T10:00:00+00:00", 2.0), entry("2026-11-25T10:00:00+00:00", 1.0))
    rows = json.loads(progress("--json").stdout)["rows"]
    assert [row["seconds"] for row in rows] == [1.0, 2.0]


def test_no_change_and_worse_are_said_as_they_are(progress: Run, log: Path) -> None:
    laps = [(100.0, 0.1, 1.0, 4), (100.0, 0.1, 1.0, 4), (100.02, 0.3, 0.0, 5), (100.02, 0.3, 0.0, 5)]
    write(log, *(entry(seconds=seconds, graded=graded) for seconds, *graded in laps))
    said = progress().stdout
    assert "1:40.0 before and after: no change" in said
    assert "0.1000, then 0.3000: 0.2000 more" in said
    assert "100.0 %, then 0.0 %: 100.0 % fewer" in said
    assert "4.0, then 5.0: 1.0 farther" in said


FOREIGN = [
    (b'{"threepass_log": 1, "at": "2026-11-2\n', "not whole JSON (torn?)"),
    (b"\xf0\x9f\n", "not whole JSON (torn?)"),
    (b"[" * 100_000 + b"\n", "not whole JSON (torn?)"),
    (b"[]\n", "not a lap of this log"),
    (b'"text"\n', "not a lap of this log"),
    (b'{"another": "log"}\n', "not a lap of this log"),
    (b'{"threepass_log": 2}\n', "written for version 2 of this log"),
    (b'{"threepass_log": 1}\n', "not a lap of this log"),
    (json.dumps(entry(at="yesterday")).encode() + b"\n", "not a lap of this log"),
    (json.dumps(entry(at="0001-01-01T00:00:00+14:00")).encode() + b"\n", "not a lap of this log"),
    (json.dumps(entry(finished="yes")).encode() + b"\n", "not a lap of this log"),
    (json.dumps(entry(seconds=-1.0)).encode() + b"\n", "not a lap of this log"),
    (json.dumps(entry(graded=("much", 1.0, 4))).encode() + b"\n", "not a lap of this log"),
    (json.dumps(entry(graded=(float("nan"), 1.0, 4))).encode() + b"\n", "not a lap of this log"),
    (json.dumps(entry(graded=(True, 1.0, 4))).encode() + b"\n", "not a lap of this log"),
    (json.dumps(entry(result=[])).encode() + b"\n", "not a lap of this log"),
    (json.dumps(entry(record={"exchanges": "none"})).encode() + b"\n", "not a lap of this log"),
    (json.dumps(entry(record={"exchanges": [1]})).encode() + b"\n", "not a lap of this log"),
    (b'{"threepass_log": 1, "at": "' + b"x" * 4_100_000 + b'"}\n', "too long"),
]


@pytest.mark.parametrize(("line", "why"), FOREIGN)
def test_a_torn_or_foreign_line_is_reported_and_left_out(
    progress: Run, log: Path, line: bytes, why: str
) -> None:
    write(log, entry(seconds=61.0), line, b"\n", entry(seconds=62.0))
    result = progress("--json")
    assert result.exit_code == 0
    assert result.stderr.startswith(f"line 2 of the log left out: {why}")
    assert len(result.stderr.splitlines()) == 1
    told = json.loads(result.stdout)
    assert [row["seconds"] for row in told["rows"]] == [61.0, 62.0]
    assert (told["skipped_lines"], told["unfinished"], told["trend"]) == (1, 0, None)


def test_a_torn_last_line(progress: Run, log: Path) -> None:
    write(log, entry(), b'{"threepass_log":1,"at":"20')
    result = progress()
    assert result.exit_code == 0
    assert result.stderr == "line 2 of the log left out: not whole JSON (torn?)\n"


def test_laps_that_differ_in_kind_are_remarked_on(progress: Run, log: Path) -> None:
    longer = entry()
    longer["record"]["exchanges"] *= 2
    write(log, entry(card="full"), longer, entry(finished=False, result=None), entry(result=None))
    said = " ".join(progress().stdout.split())
    assert "1 lap stopped before the end is not counted." in said
    assert "1 lap without a review: only the time counts." in said
    assert "(cards: full, small; rounds: 1, 2)" in said
    assert "Trend: 4 finished laps are needed" in said


def test_a_share_is_of_passes(progress: Run, log: Path) -> None:
    longer = entry(graded=(0.0, 0.0, 4))
    longer["record"]["exchanges"] *= 3
    write(log, entry(graded=(0.0, 1.0, 4)), longer)
    (row,) = json.loads(progress("--by", "day", "--json").stdout)["rows"]
    assert row["share"] == 0.25


def test_a_lap_that_was_not_timed_throughout(progress: Run, log: Path) -> None:
    write(log, entry(seconds=None))
    assert progress().stdout.splitlines()[1].split()[3] == "-"


def test_no_log_yet(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, progress: Run) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    result = CliRunner().invoke(cli, ["progress"])
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.startswith("no finished laps in ")
    named = progress()
    assert (named.exit_code, named.stdout) == (2, "")
    assert "No such file" in named.stderr


def test_names_in_a_log_cannot_steer_a_terminal(progress: Run, log: Path) -> None:
    write(log, entry(card="\x1b[2J"), entry(), b'{"threepass_log": "\\u001b[2J"}\n')
    result = progress()
    assert result.exit_code == 0
    assert "\x1b" not in result.stdout + result.stderr


def test_what_practise_writes_progress_reads(
    play: Callable[..., Result], steps_of: Callable[..., Any], log: Path, progress: Run
) -> None:
    assert play(steps_of([41.0, 30.0, 41.0])).exit_code == 0
    assert play([(0.0, "\n"), (1.0, "q\n")]).exit_code == 0
    told = json.loads(progress("--json").stdout)
    logged = json.loads(log.read_text().splitlines()[0])["result"]
    (row,) = told["rows"]
    assert (row["seconds"], row["given_up"], row["away"]) == (112.0, logged["given_up"], logged["tiles_away"])
    assert (told["unfinished"], told["skipped_lines"]) == (1, 0)


def test_it_needs_no_service(log: Path, progress: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise AssertionError

    monkeypatch.setattr("clients.cli.transport.Service.__init__", refuse)
    write(log, entry())
    assert progress().exit_code == 0
    assert os.listdir(log.parent) == [log.name]  # noqa: PTH208 - names only
