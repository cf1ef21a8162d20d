"""Racks of one's own, tasks of one rack or deal each, and the folder that keeps answers."""

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from clients.cli.batch import ANSWERS, MOST_RACKS, Folder, alone_in, racks_in
from clients.cli.output import Exit, Failure
from tests.clients.conftest import Make
from tests.clients.laps import RACK

OTHER = "1b, 1b, 2b, 3c, 3c, 4d, 7d, 9d, N, S, red, F, J"


def found(text: str | bytes) -> dict[str, Any]:
    return racks_in(text if isinstance(text, bytes) else text.encode(), "racks.txt")


def test_lines_of_text() -> None:
    assert found(f"{RACK}\r\n\n  {OTHER}  \n") == {"line 1": RACK, "line 3": OTHER}
    assert found(b"\xef\xbb\xbf" + RACK.encode()) == {"line 1": RACK}


def test_json_lines() -> None:
    text = f'"{RACK}"\n["2b", "J"]\n\n{{"rack": "{RACK}", "round": "First-Left"}}\n{{"rack": "{RACK}"}}\n5\n'
    assert found(text) == {
        "line 1": RACK,
        "line 2": ["2b", "J"],
        "line 4": {"rack": RACK, "round": "first_left"},
        "line 5": {"rack": RACK},
        "line 6": 5,
    }


@pytest.mark.parametrize("header", ["rack,round", '"rack","round"', " Rack , ROUND "])
def test_a_table(header: str) -> None:
    text = f'{header}\n"{OTHER}",courtesy\n\n{RACK},\n{RACK}\n'
    assert found(text) == {
        "line 2": {"rack": OTHER, "round": "courtesy"},
        "line 4": {"rack": RACK},
        "line 5": {"rack": RACK},
    }
    # As spreadsheets of other countries write it.
    assert found(f"Rack;Round\n{OTHER};courtesy\n") == {"line 2": {"rack": OTHER, "round": "courtesy"}}
    assert found(f"rack\r\n{RACK}\r\n") == {"line 2": {"rack": RACK}}


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("", ["racks.txt: no racks"]),
        (" \n\n", ["racks.txt: no racks"]),
        ("rack,round\n", ["racks.txt: no racks"]),
        (b"\xff", ["racks.txt: not UTF-8 at byte 0"]),
        ('"a"\nnope\n{"x": NaN}\n', ["racks.txt: line 2: not JSON", "racks.txt: line 3: not JSON"]),
        ("F\n" * (MOST_RACKS + 1), ["racks.txt: 501 racks: a sheet has at most 500"]),
    ],
)
def test_faults(text: str | bytes, faults: list[str]) -> None:
    with pytest.raises(Failure) as caught:
        found(text)
    assert (caught.value.exit_code, list(caught.value.lines)) == (Exit.USAGE, faults)


SHEET = {"problems": [], "key": []}


def test_a_file_that_was_torn_anywhere_is_gone_on_with(tmp_path: Path) -> None:
    kept, path = Folder(tmp_path / "a" / "b", "d"), tmp_path / "a" / "b" / ANSWERS
    assert not path.exists()
    kept.keep(0, SHEET)
    one = path.read_bytes()
    kept.keep(1, SHEET)
    both = path.read_bytes()
    for cut in range(len(both)):
        path.write_bytes(both[:cut])
        again = Folder(path.parent, "d")
        # An answer that lacks nothing but the end of its line is kept.
        lost = [task for task, end in enumerate((len(one), len(both))) if cut < end - 1]
        assert again.kept == dict.fromkeys({0, 1}.difference(lost), SHEET)
        for task in lost:
            again.keep(task, SHEET)
        assert Folder(path.parent, "d").kept == {0: SHEET, 1: SHEET}


def test_a_spoiled_line_in_between_is_answered_anew(tmp_path: Path) -> None:
    kept = Folder(tmp_path, "d")
    kept.keep(0, SHEET)
    kept.keep(1, SHEET)
    content = (tmp_path / ANSWERS).read_bytes().replace(b'{"task":0', b'{"tusk":0')
    (tmp_path / ANSWERS).write_bytes(content)
    assert Folder(tmp_path, "d").kept == {1: SHEET}


@pytest.mark.parametrize("content", [b"mine", b"mine\n", b"[]\n1\n", b'{"threepass_log": 1}\n'])
def test_what_is_no_file_of_ours_is_left_alone(tmp_path: Path, content: bytes) -> None:
    (tmp_path / ANSWERS).write_bytes(content)
    with pytest.raises(Failure, match="the answers of another request"):
        Folder(tmp_path, "d")
    assert (tmp_path / ANSWERS).read_bytes() == content


def test_a_folder_belongs_to_one_sheet_at_a_time(make: Make, tmp_path: Path) -> None:
    asked = ("--seed", "5", "--formats", "json")
    with alone_in(tmp_path / "out"):
        result, files = make(*asked)
    assert (result.exit_code, result.stdout, files) == (2, "", {})
    says = "another sheet is being made in this folder: wait until it is done, or choose another with --out"
    assert result.stderr == f"{tmp_path / 'out'}: {says}\n"
    assert make(*asked)[0].exit_code == 0


def test_without_such_locks_the_command_starts_and_folders_are_made(
    make: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = "import sys; sys.modules['fcntl'] = None; from clients.cli.main import cli; cli(['--help'])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True).returncode == 0
    monkeypatch.setitem(sys.modules, "fcntl", None)
    assert make("--seed", "5", "--formats", "json")[0].exit_code == 0


def test_a_folder_that_cannot_be(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    for path in (tmp_path / "file" / "below", tmp_path / "a\0b"):
        with pytest.raises(Failure, match="make room or choose another folder"), alone_in(path):
            pass
