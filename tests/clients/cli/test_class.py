"""A class by the command: three logs, one of them with torn lines, in one table, as CSV and as a page."""

import csv
import json
import re
from pathlib import Path
from typing import Any

from tests.clients.cli.test_pages import check_words
from tests.clients.cli.test_progress import entry, write
from tests.clients.conftest import Run
from tests.clients.laps import played_once

RACK = ["2b", "4b", "4c", "5c", "5c", "6c", "1d", "5d", "8d", "E", "W", "F", "F", "J"]
GIVEN = {"best": ["1d", "E", "W"], "other": ["5c", "8d", "E"]}


def single(deal: int, given: str, share: float, **members: Any) -> dict[str, Any]:
    """A line of a log: a single pass, from a rack of its own for each deal."""
    facts = {"given": GIVEN[given], "best": GIVEN["best"], "share": share, "seconds": None}
    rack = [*RACK[:-1], ("J", "N", "S")[deal]]
    return played_once(f"14:{deal:02}:00", {**facts, "rack": rack}, deal=deal, **members)


def logs_in(folder: Path) -> Path:
    """Write the logs of three pupils, and what is no log, into a folder."""
    logs = folder / "logs"
    logs.mkdir()
    write(logs / "Ann.jsonl", single(0, "best", 0.0), single(1, "other", 0.2), single(2, "best", 0.0, seed=5))
    write(logs / "Bo.txt", single(0, "other", 0.6), b'{"torn": \n', single(1, "other", 0.2), entry())
    write(logs / "Cem.jsonl", single(1, "best", 0.0), single(0, "other", 0.6), single(2, "other", 0.1))
    (logs / "notes.md").write_text("no log")
    return logs


def test_three_pupils(run: Run, tmp_path: Path) -> None:
    folder = logs_in(tmp_path)
    table, sheet = tmp_path / "class.csv", tmp_path / "class.html"
    result = run("class", str(folder), "--csv", str(table), "--html", str(sheet), "--seed", "11")
    assert result.exit_code == 0
    assert result.stderr == (
        "line 2 of Bo.txt left out: not whole JSON (torn?)\nBo.txt: 1 lap without grades left out\n"
    )
    answer = json.loads(run("class", str(folder), "--seed", "11", "--json").stdout)
    check_words(result.stdout, answer)
    lines = result.stdout.splitlines()
    made = [each["words"] for problem in answer["problems"] for each in problem["made"]]
    told = [(each["given"], each["lost"], each["pupils"]) for each in made]
    of_pupils = ("lost", "passes", "worst")
    told += [(each["name"], *(each["words"][name] for name in of_pupils)) for each in answer["pupils"]]
    assert [row for line in lines if (row := tuple(re.split(r" {2,}", line.strip()))) in told] == told
    shown = [line.split()[1:] for line in lines if line.startswith("  Rack")]
    assert shown == [problem["rack"] for problem in answer["problems"]]
    rows = list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))
    assert [(row["number"], row["pupil"], row["pass"]) for row in rows] == [
        ("1", "Ann", "1d E W"), ("1", "Bo", "5c 8d E"), ("1", "Cem", "5c 8d E"),
        ("2", "Cem", "1d E W"), ("2", "Ann", "5c 8d E"), ("2", "Bo", "5c 8d E"),
    ]  # fmt: skip
    assert "Talk about problem 1" in sheet.read_text(encoding="utf-8")
    # Of any seed Ann and Cem share a third rack.
    assert len(json.loads(run("class", str(folder), "--json").stdout)["problems"]) == 3


def test_what_is_no_class(run: Run, tmp_path: Path) -> None:
    folder = logs_in(tmp_path)
    (tmp_path / "empty").mkdir()
    nothing = run("class", str(tmp_path / "empty"))
    assert (nothing.exit_code, "no logs in this folder" in nothing.stderr) == (2, True)
    assert run("class", str(tmp_path / "nobody.jsonl")).exit_code == 2
    # Files of one name are of one pupil, and what stands twice counts once.
    twice = run("class", str(folder / "Ann.jsonl"), str(folder))
    assert (twice.exit_code, twice.stdout.count("  Ann  ")) == (0, 1)
    lost = run("class", str(folder), "--csv", str(tmp_path / "no" / "class.csv"))
    assert (lost.exit_code, "Talk about" in lost.stdout) == (5, True)
