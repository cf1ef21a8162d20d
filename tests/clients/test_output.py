import io
import sys

import pytest

from clients.cli.output import clean, complain, say, write_body


def test_nothing_that_a_terminal_obeys_is_printed() -> None:
    assert clean("a\x1b[31mb\x07\r\tc\u202ed\u2069\x9b\n") == "a?[31mb???c?d??\n"
    assert clean("Brücke 🀐 – ok") == "Brücke 🀐 – ok"


def test_answers_and_complaints_go_to_their_streams(capsys: pytest.CaptureFixture[str]) -> None:
    say("answer")
    complain("fault")
    assert capsys.readouterr() == ("answer\n", "fault\n")


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
