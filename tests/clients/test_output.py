"""Pages of 80 columns, the two streams, the count of what is done, files that are whole or as they were."""

import errno
import io
import json
import os
import sys
from pathlib import Path

import pytest

from clients.cli import output
from clients.cli.output import (
    MAX_FILE,
    WIDTH,
    Progress,
    UsageFault,
    append,
    clean,
    content_of,
    entry,
    in_groups,
    labeled,
    page,
    paragraph,
    say,
    table,
    write_body,
    write_whole,
)


def test_nothing_that_a_terminal_obeys_is_printed() -> None:
    assert clean("a\x1b[31mb\x07\r\tc\u202ed\u2069\x9b\n") == "a?[31mb???c?d??\n"
    assert clean("Brücke 🀐 – ok") == "Brücke 🀐 – ok"


def test_a_stream_that_cannot_show_a_letter_shows_its_escape(monkeypatch: pytest.MonkeyPatch) -> None:
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="ascii"))
    say("Brücke")
    assert raw.getvalue() == b"Br\\xfccke\n"


@pytest.mark.parametrize(("terminal", "end"), [(False, b""), (True, b"\n")])
def test_a_body_is_written_as_it_is(monkeypatch: pytest.MonkeyPatch, terminal: bool, end: bytes) -> None:
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding="utf-8")
    monkeypatch.setattr(stream, "isatty", lambda: terminal)
    monkeypatch.setattr(sys, "stdout", stream)
    write_body(b'{"a":"\xc3\xbc"}')
    assert raw.getvalue() == b'{"a":"\xc3\xbc"}' + end


@pytest.mark.parametrize(
    ("longest", "said"), [(60.0, ""), (-1.0, "41 lines answered, 1 of them with a problem\n")]
)
def test_longer_work_away_from_a_terminal_is_summed_up_once(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, longest: float, said: str
) -> None:
    monkeypatch.setattr(output, "_WORTH_TELLING", longest)
    progress = Progress("line", "answered")
    progress.count(True, 40)
    progress.count(False)
    assert capsys.readouterr().err == ""
    progress.end()
    assert capsys.readouterr() == ("", said)


@pytest.mark.parametrize("answers_too", [False, True])
def test_a_terminal_sees_the_count_move_unless_it_sees_the_answers(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, answers_too: bool
) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: answers_too)
    progress = Progress("deal", "tried")
    progress.count(True)
    progress.count(True)
    progress.end()
    moved = "\r1 deal tried\r2 deals tried\r2 deals tried\n"
    assert capsys.readouterr().err == ("" if answers_too else moved)


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    large = tmp_path / "large.json"
    with large.open("wb") as file:
        file.truncate(MAX_FILE + 1)
    for name, fault in [
        (str(tmp_path / "none.json"), r"none\.json: No such file"),
        (str(tmp_path), "directory"),
        ("a\0b", "null"),
        (str(large), "over 50,000,000 bytes"),
    ]:
        with pytest.raises(UsageFault, match=fault):
            content_of(name)


def test_lines_follow_one_another(tmp_path: Path) -> None:
    path = tmp_path / "new" / "folder" / "laps.jsonl"
    for number in range(3):
        append(path, json.dumps({"lap": number}).encode())
    assert [json.loads(line)["lap"] for line in path.read_bytes().splitlines()] == [0, 1, 2]
    assert path.read_bytes().endswith(b"\n")


@pytest.mark.parametrize("torn", [b'{"threepass_log":1,"at"', b"\xf0\x9f", b"x"])
def test_a_torn_last_line_is_ended_first(tmp_path: Path, torn: bytes) -> None:
    path = tmp_path / "laps.jsonl"
    path.write_bytes(b'{"lap":0}\n' + torn)
    append(path, b'{"lap":1}')
    assert path.read_bytes() == b'{"lap":0}\n' + torn + b'\n{"lap":1}\n'


def test_a_file_is_whole_or_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "plot.svg"
    write_whole(path, b"first")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, b"second")
    assert path.read_text() == "first"
    assert [found.name for found in tmp_path.iterdir()] == ["plot.svg"]


def test_long_text_goes_on_below_itself() -> None:
    lines = labeled("Label", "word " * 40)
    assert len(lines) > 2
    assert lines[0].startswith("  Label ")
    assert all(len(line) <= WIDTH for line in lines)
    assert {line.index("word") for line in lines} == {lines[0].index("word")}
    assert labeled("Label", "") == ["  Label"]


def test_a_figure_keeps_its_percent_sign() -> None:
    for length in range(50, 62):
        lines = labeled("Label", "x" * length + " 12.3 % more")
        assert "12.3 %" in " ".join(lines)
        assert all(not line.lstrip().startswith("%") for line in lines)
        assert "\u00a0" not in "".join(lines)


def test_a_note_stands_at_the_edge_or_below() -> None:
    (line,) = entry("1.0 %", "name", "note")
    assert (len(line), line.split()) == (WIDTH, ["1.0", "%", "name", "note"])
    lines = entry("1.0 %", "n" * 60, "a longer note")
    assert [line.strip() for line in lines] == ["1.0 %  " + "n" * 60, "a longer note"]
    assert entry("1.0 %", "name")[0].endswith("name")


def test_paragraphs_hang_and_blocks_are_parted() -> None:
    lines = paragraph("word " * 40)
    assert lines[0].startswith("  word")
    assert lines[1].startswith("    word")
    assert page([["a", "b"], [], ["c"]]) == "a\nb\n\nc"


def test_tiles_stand_in_groups() -> None:
    assert in_groups(["F", "F", "4c", "F"]) == "F F  4c  F"
    assert in_groups([]) == "none"


def test_columns_are_as_wide_as_their_cells() -> None:
    assert table(["a", "count", "c"], [["one", "1", "x"], ["three", "30", ""]], right=[1]) == [
        "  a      count  c",
        "  one        1  x",
        "  three     30",
    ]
    assert table(["a", "b"], []) == ["  a  b"]
    with pytest.raises(ValueError, match="zip"):
        table(["a", "b"], [["1"]])


def test_what_does_not_fit_is_wrapped_below_itself() -> None:
    lines = table(["name", "n"], [["word " * 40, "7"], ["next", "8"]], right=[1])
    assert max(map(len, lines)) <= WIDTH
    assert lines[0].endswith("  n")
    assert lines[1].endswith("  7")
    assert lines[2].startswith("  word")
    assert " ".join(lines).split().count("word") == 40
    assert lines[-1].split() == ["next", "8"]


def test_figures_are_never_wrapped() -> None:
    assert table(["n"], [["9" * 100]], right=[0]) == ["  " + "n".rjust(100), "  " + "9" * 100]
    # Nor is a column made narrower than a tile or two.
    assert len(table(["a", "n"], [["x" * 9, "9" * 100]], right=[1])) == 3
