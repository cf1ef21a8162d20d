import json
from pathlib import Path

import pytest

from clients.cli.practice.log_writing import append, default_path, keep, line_of


def test_lines_follow_one_another(tmp_path: Path) -> None:
    path = tmp_path / "new" / "folder" / "laps.jsonl"
    for number in range(3):
        append(path, line_of({"lap": number, "card": "Pär\n\x1b"}))
    lines = path.read_bytes().splitlines()
    assert [json.loads(line)["lap"] for line in lines] == [0, 1, 2]
    assert path.read_bytes().isascii()
    assert path.read_bytes().endswith(b"\n")


@pytest.mark.parametrize("torn", [b'{"threepass_log":1,"at"', b"\xf0\x9f", b"x"])
def test_a_torn_last_line_is_ended_first(tmp_path: Path, torn: bytes) -> None:
    path = tmp_path / "laps.jsonl"
    path.write_bytes(b'{"lap":0}\n' + torn)
    append(path, line_of({"lap": 1}))
    assert path.read_bytes() == b'{"lap":0}\n' + torn + b'\n{"lap":1}\n'


def test_writes_that_are_cut_short_go_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = Path.open

    class Slow:
        """A file that takes five bytes at a time."""

        def __init__(self, path: Path, *arguments: object, **options: object) -> None:
            self._file = real(path, *arguments, **options)  # type: ignore[arg-type]

        def __enter__(self) -> "Slow":
            return self

        def __exit__(self, *_: object) -> None:
            self._file.close()

        def write(self, content: memoryview) -> int:
            return self._file.write(content[:5])

        def fileno(self) -> int:
            return self._file.fileno()

    monkeypatch.setattr(Path, "open", lambda *arguments, **options: Slow(*arguments, **options))
    append(tmp_path / "laps.jsonl", line_of({"lap": "one that is long"}))
    monkeypatch.undo()
    assert (tmp_path / "laps.jsonl").read_bytes() == b'{"lap":"one that is long"}\n'


def test_what_cannot_be_kept_is_printed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").touch()
    entry = {"lap": 1, "card": "\x1b[2J é"}
    for path in (tmp_path, tmp_path / "file" / "log", Path("a\0b")):
        assert keep(path, entry) is False
        out, err = capsys.readouterr()
        assert out == ""
        assert [line + "\n" for line in err.splitlines()][-1].encode() == line_of(entry)
    assert keep(tmp_path / "log", entry) is True
    assert capsys.readouterr() == ("", "")


def test_the_log_lives_where_this_person_keeps_data(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert default_path().name == "practice.jsonl"
    assert default_path().parent.name == "threepass"
