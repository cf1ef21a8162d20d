"""The date is set during a lap: its times are those of the monotonic clock, and its line is still read."""

import json
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from clients.cli.main import cli
from clients.cli.practice import practise
from tests.clients.practice.typist import Step, logged

Play = Callable[..., Result]
Steps = Callable[..., list[Step]]


@pytest.fixture
def dates(monkeypatch: pytest.MonkeyPatch) -> None:
    """Days that go back by years from lap to lap."""
    days: Iterator[str] = iter(["2031-01-01T10:00:00+00:00", "1999-12-31T23:59:59+00:00"])
    monkeypatch.setattr(practise, "_now", lambda: next(days))
    monkeypatch.setattr(time, "time", lambda: -1.0)


def test_seconds_are_not_of_the_date(play: Play, steps_of: Steps, log: Path, dates: None) -> None:
    steps = [*steps_of([10.0, 20.5, 5.0]), *steps_of([1.0, 2.0, 3.0], 1)]
    result = play(steps, "--laps", "2")
    assert result.exit_code == 0, result.stderr
    times = [[exchange["seconds"] for exchange in entry["record"]["exchanges"]] for entry in logged(log)]
    assert times == [[10.0, 20.5, 5.0], [1.0, 2.0, 3.0]]


def test_progress_reads_laps_whose_dates_go_back(play: Play, steps_of: Steps, log: Path, dates: None) -> None:
    play([*steps_of([10.0, 20.5, 5.0]), *steps_of([1.0, 2.0, 3.0], 1)], "--laps", "2")
    result = CliRunner().invoke(cli, ["progress", "--log", str(log), "--json"])
    assert (result.exit_code, result.stderr) == (0, "")
    rows: list[dict[str, Any]] = json.loads(result.stdout)["rows"]
    assert [row["seconds"] for row in rows] == [6.0, 35.5], "in the order of the dates as logged"
