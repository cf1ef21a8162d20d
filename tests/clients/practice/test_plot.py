import errno
import json
import os
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result

from clients.cli.main import cli
from clients.cli.practice.plot import plot_of, write_whole
from clients.cli.practice.ticks import hand_ticks, index_ticks, time_ticks
from clients.cli.practice.trend import Means
from tests.clients.practice.typist import Step

SVG = "{http://www.w3.org/2000/svg}"


def rows_of(*values: tuple[float | None, float | None]) -> list[Means]:
    return [
        Means(f"2026-11-{day:02d}", 1, time, lost, 0.5, 4.0) for day, (time, lost) in enumerate(values, 1)
    ]


def marks(tree: ElementTree.Element, panel: str) -> list[ElementTree.Element]:
    return tree.findall(f".//{SVG}g[@class='{panel}']/{SVG}g[@class='mark']")


def test_the_plot_of_laps_that_were_played(
    play: Callable[..., Result], steps_of: Callable[..., list[Step]], log: Path, tmp_path: Path
) -> None:
    steps = [step for index in range(3) for step in steps_of([20.0 + index], index)]
    assert play(steps, "--rounds", "1", "--laps", "3").exit_code == 0
    out = tmp_path / "plot.svg"
    result = CliRunner().invoke(cli, ["progress", "--log", str(log), "--plot", str(out)])
    assert (result.exit_code, result.stderr) == (0, "")
    tree = ElementTree.parse(out).getroot()
    assert tree.tag == f"{SVG}svg"
    assert len(json.loads(log.read_text().splitlines()[0])) == 9
    assert len(marks(tree, "time")) == len(marks(tree, "given-up")) == 3
    assert sorted(path.name for path in tmp_path.iterdir()) == ["laps.jsonl", "plot.svg"]


def test_values_are_told_in_text_too() -> None:
    tree = ElementTree.fromstring(plot_of(rows_of((112.0, 0.4), (127.0, 0.2), (118.0, 0.1)), "lap"))
    assert tree.attrib["role"] == "img"
    labels = tree.attrib["aria-labelledby"].split()
    assert [tree.find(f".//*[@id='{label}']") is not None for label in labels] == [True, True]
    told = tree.findtext(f"{SVG}desc") or ""
    assert "3 laps, from 2026-11-01 to 2026-11-03." in told
    assert "Time: first 1:52.0, last 1:58.0, least 1:52.0, most 2:07.0." in told
    assert [mark.findtext(f"{SVG}title") for mark in marks(tree, "time")] == [
        "2026-11-01: 1:52.0",
        "2026-11-02: 2:07.0",
        "2026-11-03: 1:58.0",
    ]
    words = [text.text for text in tree.iter(f"{SVG}text")]
    assert {"Time (min:s)", "Given up (hands)", "lap (1 is the first)", "1", "2", "3"} <= set(words)


def test_series_differ_without_colour() -> None:
    svg = plot_of(rows_of((112.0, 0.4), (127.0, 0.2)), "day")
    tree = ElementTree.fromstring(svg)
    assert all(mark.find(f"{SVG}circle") is not None for mark in marks(tree, "time"))
    assert all(mark.find(f"{SVG}rect") is not None for mark in marks(tree, "given-up"))
    dashes = [line.attrib.get("stroke-dasharray") for line in tree.iter(f"{SVG}polyline")]
    assert dashes == [None, "6 4"]
    colours = {
        node.attrib[name] for node in tree.iter() for name in ("fill", "stroke") if name in node.attrib
    }
    assert colours == {"black", "white", "none"}
    assert "Mean time (min:s)" in svg


def test_higher_marks_mean_more_and_all_are_inside() -> None:
    tree = ElementTree.fromstring(plot_of(rows_of((60.0, 0.0), (180.0, 0.0), (120.0, None)), "lap"))
    circles = [mark.find(f"{SVG}circle") for mark in marks(tree, "time")]
    places = [(float(each.attrib["cx"]), float(each.attrib["cy"])) for each in circles if each is not None]
    (first, low), (second, high), (third, middle) = places
    assert first < second < third
    assert high < middle < low
    assert middle == pytest.approx((low + high) / 2)
    assert all(0 < x < 720 and 0 < y < 520 for x, y in places)
    assert len(marks(tree, "given-up")) == 2, "a lap without a review has no mark"


@pytest.mark.parametrize("values", [((5.0, None),), ((None, None), (None, None)), ((0.0, 0.0), (0.0, 0.0))])
def test_little_to_draw_is_drawn(values: tuple[tuple[float | None, float | None], ...]) -> None:
    tree = ElementTree.fromstring(plot_of(rows_of(*values), "lap"))
    assert len(marks(tree, "time")) == sum(time is not None for time, _ in values)


@pytest.mark.parametrize("most", [0.0, 0.0004, 0.9, 1.0, 59.9, 127.0, 240.0, 3_599.0, 86_400.0, 1e9])
def test_ticks_are_round_few_and_reach_the_most(most: float) -> None:
    for ticks in (time_ticks(most), hand_ticks(most)):
        assert ticks[0] == 0
        assert ticks[-1] >= most
        assert 2 <= len(ticks) <= 7
        assert ticks == sorted(set(ticks))
    assert time_ticks(127.0) == [0, 30, 60, 90, 120, 150]
    assert hand_ticks(0.4) == pytest.approx([0, 0.1, 0.2, 0.3, 0.4])


def test_at_most_twenty_laps_are_numbered() -> None:
    assert [len(index_ticks(count)) for count in (1, 20, 21, 1000)] == [1, 20, 11, 20]


def test_a_file_is_whole_or_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "plot.svg"
    write_whole(path, "first")
    assert path.stat().st_mode & 0o777 == 0o666 & ~_mask()

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, "second")
    assert path.read_text() == "first"
    assert [found.name for found in tmp_path.iterdir()] == ["plot.svg"]


def _mask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def test_a_plot_that_cannot_be_written(
    log: Path, tmp_path: Path, play: Callable[..., Result], steps_of: Callable[..., list[Step]]
) -> None:
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
