"""Pages of 80 columns, the two streams, the count of what is done, files that are whole or as they were."""

import errno
import io
import os
import sys
from pathlib import Path

import pytest

from clients.cli import output
from clients.cli.output import (
    MAX_FILE,
    Exit,
    Failure,
    Progress,
    append,
    clean,
    content_of,
    labeled,
    say,
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
        with pytest.raises(Failure, match=fault) as caught:
            content_of(name)
        assert caught.value.exit_code == Exit.USAGE


@pytest.mark.parametrize("torn", [b'{"threepass_log":1,"at"', b"\xf0\x9f"])
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


def test_a_figure_keeps_its_percent_sign() -> None:
    for length in range(50, 62):
        lines = labeled("Label", "x" * length + " 12.3 % more")
        assert "12.3 %" in " ".join(lines)
        assert all(not line.lstrip().startswith("%") for line in lines)
        assert "\u00a0" not in "".join(lines)
