import errno
import json
import os
from pathlib import Path
from typing import Any

import pytest

from clients.cli.exits import UsageFault
from clients.cli.sheets import folder as module
from clients.cli.sheets.folder import ANSWERS, Folder, NotWrittenError

SHEET = {"problems": [], "key": []}


def lines(path: Path) -> list[Any]:
    content = (path / ANSWERS).read_bytes()
    assert content.endswith(b"\n")
    return [json.loads(line) for line in content.splitlines()]


def test_answers_are_found_again(tmp_path: Path) -> None:
    path = tmp_path / "a" / "b"
    first = Folder(path, "d1")
    assert first.kept == {}
    assert list(path.iterdir()) == []
    first.keep(3, SHEET)
    first.keep(0, {**SHEET, "tried": 1})
    assert lines(path)[0] == {"threepass_answers": 1, "request": "d1"}
    assert Folder(path, "d1").kept == {3: SHEET, 0: {**SHEET, "tried": 1}}


def test_every_answer_is_on_the_disk_before_it_counts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced: list[int] = []
    sync = os.fsync
    monkeypatch.setattr(os, "fsync", lambda file: (synced.append(os.fstat(file).st_size), sync(file)))
    kept = Folder(tmp_path, "d")
    kept.keep(0, SHEET)
    assert synced[-1] == (tmp_path / ANSWERS).stat().st_size


@pytest.mark.parametrize("cut", range(1, 40))
def test_a_torn_last_line_is_cut_off(tmp_path: Path, cut: int) -> None:
    Folder(tmp_path, "d").keep(0, SHEET)
    whole = (tmp_path / ANSWERS).read_bytes()
    Folder(tmp_path, "d").keep(1, SHEET)
    both = (tmp_path / ANSWERS).read_bytes()
    (tmp_path / ANSWERS).write_bytes(both[: len(both) - cut])
    again = Folder(tmp_path, "d")
    assert again.kept == {0: SHEET}
    assert (tmp_path / ANSWERS).read_bytes() == whole
    again.keep(1, SHEET)
    assert (tmp_path / ANSWERS).read_bytes() == both


def test_a_torn_first_line_begins_anew(tmp_path: Path) -> None:
    Folder(tmp_path, "d").keep(0, SHEET)
    whole = (tmp_path / ANSWERS).read_bytes()
    for cut in range(1, whole.index(b"\n") + 1):
        (tmp_path / ANSWERS).write_bytes(whole[:cut])
        Folder(tmp_path, "d").keep(0, SHEET)
        assert (tmp_path / ANSWERS).read_bytes() == whole


def test_a_spoilt_line_in_between_is_answered_anew(tmp_path: Path) -> None:
    kept = Folder(tmp_path, "d")
    kept.keep(0, SHEET)
    kept.keep(1, SHEET)
    content = (tmp_path / ANSWERS).read_bytes().replace(b'{"task":0', b'{"tusk":0')
    (tmp_path / ANSWERS).write_bytes(content)
    assert Folder(tmp_path, "d").kept == {1: SHEET}


def test_answers_of_another_request_are_left_alone(tmp_path: Path) -> None:
    Folder(tmp_path, "d1").keep(0, SHEET)
    before = (tmp_path / ANSWERS).read_bytes()
    with pytest.raises(UsageFault, match="another request"):
        Folder(tmp_path, "d2")
    assert (tmp_path / ANSWERS).read_bytes() == before


@pytest.mark.parametrize("content", [b"mine", b"mine\n", b"[]\n1\n", b'{"threepass_log": 1}\n'])
def test_what_is_no_file_of_ours_is_left_alone(tmp_path: Path, content: bytes) -> None:
    (tmp_path / ANSWERS).write_bytes(content)
    with pytest.raises(UsageFault):
        Folder(tmp_path, "d")
    assert (tmp_path / ANSWERS).read_bytes() == content


def test_another_request_without_an_answer_leaves_nothing_to_lose(tmp_path: Path) -> None:
    (tmp_path / ANSWERS).write_bytes(b'{"threepass_answers":1,"request":"d1"}\n')
    kept = Folder(tmp_path, "d2")
    kept.keep(0, SHEET)
    assert Folder(tmp_path, "d2").kept == {0: SHEET}


def test_a_file_is_whole_or_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kept = Folder(tmp_path, "d")
    assert kept.write("key.csv", b"old") == tmp_path / "key.csv"

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(module.os, "fsync", full)
    with pytest.raises(NotWrittenError) as caught:
        kept.write("key.csv", b"new")
    assert caught.value.exit_code == 5
    assert caught.value.lines[0] == f"{tmp_path / 'key.csv'}: No space left on device"
    assert "the same command goes on" in caught.value.lines[1]
    assert {each.name: each.read_bytes() for each in tmp_path.iterdir()} == {"key.csv": b"old"}
    with pytest.raises(NotWrittenError):
        kept.keep(0, SHEET)
    assert kept.kept == {}


def test_a_folder_that_cannot_be(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(NotWrittenError):
        Folder(tmp_path / "file" / "below", "d")
    with pytest.raises(NotWrittenError):
        Folder(tmp_path / "a\0b", "d")
