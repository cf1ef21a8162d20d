import sys
from collections.abc import Iterator

import pytest

from clients.cli.progress import Progress


def clock(*moments: float) -> Iterator[float]:
    yield from moments


def test_quick_work_away_from_a_terminal_says_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    progress = Progress(clock(0, 0.9).__next__)
    progress.count(True)
    progress.end()
    assert capsys.readouterr() == ("", "")


def test_longer_work_is_summed_up_once(capsys: pytest.CaptureFixture[str]) -> None:
    progress = Progress(clock(0, 1.1).__next__)
    progress.count(True)
    progress.count(False)
    assert capsys.readouterr().err == ""
    progress.end()
    assert capsys.readouterr() == ("", "2 lines answered, 1 of them with a problem\n")


def test_an_interruption_is_said_at_once(capsys: pytest.CaptureFixture[str]) -> None:
    progress = Progress(clock(0, 0).__next__)
    progress.count(True)
    progress.end(interrupted=True)
    assert capsys.readouterr().err == "interrupted: the answers printed so far are whole\n"


def test_a_terminal_sees_the_count_move(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    progress = Progress(clock(0, 0).__next__)
    progress.count(True)
    progress.count(True)
    progress.end()
    assert capsys.readouterr().err == "\r1 line answered\r2 lines answered\r2 lines answered\n"


def test_what_is_counted_has_a_name(capsys: pytest.CaptureFixture[str]) -> None:
    progress = Progress(clock(0, 2).__next__, "deal", "tried")
    progress.count(True, 40)
    progress.count(True)
    progress.end()
    assert capsys.readouterr().err == "41 deals tried\n"


def test_answers_on_a_terminal_are_their_own_progress(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    progress = Progress(clock(0, 0).__next__)
    progress.count(True)
    progress.end()
    assert capsys.readouterr().err == ""
