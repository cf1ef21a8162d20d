"""The table, the trend, the JSON and the plot of a log."""

import json
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result

from api.service import Figures
from clients.cli.main import cli
from clients.cli.progress import Row, plot_of
from tests.clients.conftest import Play, Run, Steps
from tests.clients.laps import logged


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
    lost, share, away = members.pop("graded", (0.00025, 1.0, 4))
    result = {"share_within_resolution": share, "tiles_away": away, "seconds": seconds}
    result |= {members.pop("lost_as", "strength_given_up"): lost}
    exchange = {"round": "first_right", "given": ["4b"], "received": ["N"], "seconds": seconds}
    record = {"rack": "4b 4c E", "exchanges": [exchange], "drill": True}
    return {**logged(record, {**result, "pace": "advanced"}, at=at, client="web"), **members}


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
        entry("2026-11-24T09:00:00+00:00", 112.0, graded=(0.0004, 0.0, 6)),
        entry("2026-11-24T09:10:00+00:00", 127.0, graded=(0.0002, 0.0, 5)),
        entry("2026-11-25T09:00:00+00:00", 118.0, graded=(0.0001, 1.0, 5)),
        entry("2026-11-25T10:00:00+01:00", 99.96, graded=(0.0001, 0.0, 4)),
        entry("2026-11-26T09:00:00+00:00", 110.0, graded=(0.0, 1.0, 4)),
    )
    result = progress()
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.splitlines() == [
        "  Date              Laps    Time  Lost  As good  Tiles away",
        "  2026-11-24 09:00     1  1:52.0  0.40    0.0 %         6.0",
        "  2026-11-24 09:10     1  2:07.0  0.20    0.0 %         5.0",
        "  2026-11-25 09:00     1  1:58.0  0.10  100.0 %         5.0",
        "  2026-11-25 09:00     1  1:40.0  0.10    0.0 %         4.0",
        "  2026-11-26 09:00     1  1:50.0  0.00  100.0 %         4.0",
        "",
        "First 2 laps against the last 2",
        "  Time              1:59.5, then 1:45.0: 0:14.5 faster",
        "  Lost              0.30, then 0.05: 0.25 less",
        "  As good as best   0.0 %, then 50.0 %: 50.0 % more",
        "  Tiles away        5.5, then 4.0: 1.5 nearer",
        "  Lost: rack strength given up in a lap, against the best pass each time.",
        "  Deals differ: a small change between so few laps may be luck.",
        "",
        "  5 laps of an older version: where you lose is not told of them.",
    ]


def test_a_table_of_days_which_are_the_players_own(
    progress: Run, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # 1:52, 2:07 and 1:58 average 1:59.0.
    times = ((10, 112.0), (11, 127.0), (12, 118.0))
    write(
        log,
        entry("2026-11-24T21:30:00+00:00", 90.0),
        *(entry(f"2026-11-25T{hour}:00:00+00:00", seconds) for hour, seconds in times),
    )
    rows = [line.split()[:3] for line in progress("--by", "day").stdout.splitlines()[1:3]]
    assert rows == [["2026-11-24", "1", "1:30.0"], ["2026-11-25", "3", "1:59.0"]]
    monkeypatch.setenv("TZ", "XXX-3")
    time.tzset()
    assert progress("--by", "day").stdout.splitlines()[1].split()[:2] == ["2026-11-25", "4"]


def test_what_older_laps_lost_was_measured_by_another_objective(progress: Run, log: Path) -> None:
    write(log, entry(lost_as="given_up"), entry())
    told = progress().stdout
    assert [row.split()[4] for row in told.splitlines()[1:3]] == ["-", "0.25"]
    assert "1 lap without a review" in told


def test_no_change_and_worse_are_said_as_they_are(progress: Run, log: Path) -> None:
    laps = [
        (100.0, 0.0001, 1.0, 4),
        (100.0, 0.0001, 1.0, 4),
        (100.02, 0.0003, 0.0, 5),
        (100.02, 0.0003, 0.0, 5),
    ]
    write(log, *(entry(seconds=seconds, graded=graded) for seconds, *graded in laps))
    said = progress().stdout
    assert "1:40.0 before and after: no change" in said
    assert "0.10, then 0.30: 0.20 more" in said
    assert "100.0 %, then 0.0 %: 100.0 % fewer" in said
    assert "4.0, then 5.0: 1.0 farther" in said


TORN, NO_LAP = "not whole JSON (torn?)", "not a lap of this log"
FOREIGN = [
    *(
        (line, TORN)
        for line in (b'{"threepass_log": 1, "at": "2026-11-2\n', b"\xf0\x9f\n", b"[" * 100_000 + b"\n")
    ),
    *((line, NO_LAP) for line in (b"[]\n", b'"text"\n', b'{"another": "log"}\n', b'{"threepass_log": 1}\n')),
    (b'{"threepass_log": 2}\n', "written for version 2 of this log"),
]
WRONG: list[dict[str, Any]] = [
    *({"at": at} for at in ("yesterday", "0001-01-01T00:00:00+14:00", "9999-01-01T00:00:00+00:00")),
    *({"seconds": seconds} for seconds in (1e300, -1.0)),
    *({"graded": graded} for graded in ((1e300, 1.0, 4), (0.1, 1.5, 4), (0.1, 1.0, 15), ("much", 1.0, 4))),
    *({"graded": graded} for graded in ((float("nan"), 1.0, 4), (True, 1.0, 4))),
    *({"record": {"exchanges": exchanges}} for exchanges in ([{"seconds": 1}] * 13, "none", [1])),
    {"finished": "yes"},
    {"result": []},
]
FOREIGN += [(json.dumps(entry(**wrong)).encode() + b"\n", NO_LAP) for wrong in WRONG]


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


SVG = "{http://www.w3.org/2000/svg}"


def rows_of(*values: tuple[float | None, float | None]) -> list[Row]:
    return [
        (f"2026-11-{day:02d}", Figures(1, time, lost, None, 0.5, 4.0))
        for day, (time, lost) in enumerate(values, 1)
    ]


def marks(tree: ElementTree.Element) -> list[tuple[float, float]]:
    return [(float(dot.attrib["cx"]), float(dot.attrib["cy"])) for dot in tree.iter(f"{SVG}circle")]


def test_the_plot_of_laps_that_were_played(play: Play, steps_of: Steps, log: Path, tmp_path: Path) -> None:
    steps = [step for index in range(3) for step in steps_of([20.0 + index], index)]
    assert play(steps, "--rounds", "1", "--laps", "3").exit_code == 0
    assert play([(0.0, "\n"), (1.0, "q\n")]).exit_code == 0
    out = tmp_path / "plot.svg"
    result = CliRunner().invoke(cli, ["progress", "--log", str(log), "--plot", str(out), "--json"])
    assert (result.exit_code, result.stderr) == (0, "")
    told, kept = json.loads(result.stdout), json.loads(log.read_text().splitlines()[0])["result"]
    figures = [told["rows"][0][name] for name in ("seconds", "given_up", "away")]
    assert figures == [20.0, kept["strength_given_up"], kept["tiles_away"]]
    assert (told["unfinished"], told["skipped_lines"]) == (1, 0)
    tree = ElementTree.parse(out).getroot()
    assert tree.tag == f"{SVG}svg"
    assert len(marks(tree)) == 2 * 3
    assert sorted(path.name for path in tmp_path.iterdir()) == ["laps.jsonl", "plot.svg"]


def test_values_are_told_in_text_too() -> None:
    tree = ElementTree.fromstring(plot_of(rows_of((112.0, 0.4), (127.0, 0.2), (118.0, 0.1)), "lap"))
    assert tree.attrib["role"] == "img"
    told = tree.attrib["aria-label"]
    assert told.startswith("3 laps")
    assert "Time (min:s): first 1:52.0, last 1:58.0, least 1:52.0, most 2:07.0." in told
    words = {text.text for text in tree.iter(f"{SVG}text")}
    assert {"Time (min:s)", "Lost (rack strength)", "lap (1 is the first)", "1", "2", "3"} <= words
    assert {"0:00.0", "0:30.0", "2:30.0"} <= words


def test_higher_marks_mean_more_and_laps_without_a_review_have_none() -> None:
    tree = ElementTree.fromstring(plot_of(rows_of((60.0, 0.0), (180.0, 0.0), (120.0, None)), "lap"))
    (first, low), (second, high), (third, middle), *lost = marks(tree)
    assert first < second < third
    assert high < middle < low
    assert middle == pytest.approx((low + high) / 2)
    assert len(lost) == 2


@pytest.mark.parametrize("values", [((5.0, None),), ((0.0, 0.0), (0.0, 0.0))])
def test_little_to_draw_is_drawn(values: tuple[tuple[float | None, float | None], ...]) -> None:
    tree = ElementTree.fromstring(plot_of(rows_of(*values), "lap"))
    assert len(marks(tree)) == sum(value is not None for both in values for value in both)


def test_at_most_twenty_laps_are_numbered() -> None:
    for count, numbered in ((1, 1), (20, 20), (21, 11), (1000, 20)):
        tree = ElementTree.fromstring(plot_of(rows_of(*[(1.0, None)] * count), "lap"))
        assert sum((text.text or "").isdigit() for text in tree.iter(f"{SVG}text")) == numbered


def test_a_plot_that_cannot_be_written(log: Path, tmp_path: Path, play: Play, steps_of: Steps) -> None:
    log.write_bytes(b"")
    command = ["progress", "--log", str(log), "--plot"]
    nothing = CliRunner().invoke(cli, [*command, str(tmp_path / "plot.svg")])
    assert nothing.exit_code == 2
    assert "no finished laps to draw" in nothing.stderr
    assert play(steps_of([1.0]), "--rounds", "1").exit_code == 0
    result = CliRunner().invoke(cli, [*command, str(tmp_path / "nowhere" / "plot.svg")])
    assert result.exit_code == 5
    assert result.stdout.startswith("  Date ")
    assert "No such file or directory" in result.stderr
