"""The command from its options to its files, on the real service in this process."""

import json
import os
import signal
import subprocess
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from clients.cli import batch
from clients.cli import deals as module
from clients.cli.service import Reply
from tests.benchmarks.serving import until
from tests.clients.conftest import Ask, Make, Posting
from tests.clients.laps import OTHER, RACK
from tests.printing import needs_weasyprint

QUICK = ("--formats", "json,csv")
ALL = [
    *("answers.jsonl", "key.csv", "key.html", "key.pdf"),
    *("problems.csv", "problems.html", "problems.pdf", "sheet.json"),
]


def sheet_in(files: dict[str, bytes]) -> dict[str, Any]:
    sheet: dict[str, Any] = json.loads(files["sheet.json"])
    return sheet


def test_all_files_and_their_paths(make: Make, tmp_path: Path) -> None:
    needs_weasyprint()
    result, files = make("--seed", "5", "--count", "3", "--difficulty", "close")
    assert result.exit_code == 0, result.stderr
    assert sorted(files) == ALL
    named = [Path(line) for line in result.stdout.splitlines()]
    assert sorted(path.name for path in named) == [name for name in ALL if name != "answers.jsonl"]
    assert all(path.parent == tmp_path / "out" for path in named)
    assert files["key.pdf"].startswith(b"%PDF-")


def test_the_sheet_is_what_one_request_would_give(make: Make, ask: Ask) -> None:
    result, files = make("--seed", "5", "--count", "4", "--difficulty", "close", *QUICK)
    assert result.exit_code == 0, result.stderr
    wish = {"seed": 5, "count": 4, "difficulty": "close", "card": "small"}
    whole = json.loads(ask("/v1/sheets", wish))["sheet"]
    assert sheet_in(files) == whole
    asked = {"sheet": whole, "format": "csv", "part": "key"}
    assert files["key.csv"] == ask("/v1/sheets/pages", asked)


@pytest.mark.parametrize(
    "content",
    [
        f'"{RACK}"\n{{"rack": "{OTHER}", "round": "first-left"}}\n',
        f"rack,round\n{RACK},\n{OTHER},first-left\n",
    ],
)
def test_own_racks(make: Make, ask: Ask, tmp_path: Path, content: str) -> None:
    path = tmp_path / "racks"
    path.write_text(content, encoding="utf-8")
    result, files = make("--racks", str(path), "--round", "courtesy", *QUICK)
    assert result.exit_code == 0, result.stderr
    racks = [RACK, {"rack": OTHER, "round": "first_left"}]
    body = {"racks": racks, "round": "courtesy", "card": "small"}
    assert sheet_in(files) == json.loads(ask("/v1/sheets", body))["sheet"]
    piped, again = make("--racks", "-", "--round", "courtesy", *QUICK, out="piped", stdin=content)
    assert piped.exit_code == 0
    assert again["sheet.json"] == files["sheet.json"]


def test_every_faulty_rack_is_named_before_any_is_answered(
    make: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "_CHECKED_AT_ONCE", 2)
    text = f"{RACK}\nzebra 2b\n\n{OTHER}\n{RACK} 1b\nJ J\n"
    result, files = make("--racks", "-", stdin=text)
    assert (result.exit_code, result.stdout, files) == (1, "", {})
    lines = result.stderr.splitlines()
    assert {line.partition(":")[0] for line in lines} == {"line 2", "line 5", "line 6"}
    assert "line 6: 2 tiles: a rack has 13 or 14" in lines
    faulty = f'{{"rack": "J", "hat": 1}}\n["2b", 3]\n5\n{{"rack": "{RACK}", "round": "last one"}}\n'
    result, _ = make("--racks", "-", stdin=faulty)
    for start in ("line 1: hat: ", "line 3: tiles are written", "line 4: round: "):
        assert any(line.startswith(start) for line in result.stderr.splitlines())


def test_fewer_than_wanted_is_said_plainly(make: Make) -> None:
    result, files = make("--seed", "7", "--count", "3", "--jokers", "8", "--budget", "9", *QUICK)
    assert result.exit_code == 0
    assert result.stderr.splitlines()[-1] == "only 0 of 3 deals found: 9 deals tried"
    sheet = sheet_in(files)
    assert (sheet["problems"], sheet["complete"], sheet["tried"]) == ([], False, 9)


@pytest.mark.parametrize(("paper", "size"), [((), "letter"), (("--paper", "a4"), "A4")])
def test_formats_and_paper(make: Make, paper: tuple[str, ...], size: str) -> None:
    result, files = make("--seed", "5", "--formats", "HTML, csv", *paper)
    assert result.exit_code == 0, result.stderr
    assert sorted(files) == ["answers.jsonl", "key.csv", "key.html", "problems.csv", "problems.html"]
    assert f"size: {size};".encode() in files["key.html"]


def test_without_what_makes_pdf(make: Make, posting: Posting) -> None:
    body = b'{"type": "urn:threepass:problem:not-installed", "detail": "PDF needs more", "errors": []}'
    posting(lambda _, sent, real: Reply(501, body) if b'"format":"pdf"' in sent else real())
    result, files = make("--seed", "5")
    assert (result.exit_code, result.stderr) == (0, "no PDF: PDF needs more\n")
    assert "key.html" in files and "key.pdf" not in files
    named, _ = make("--seed", "5", "--formats", "pdf")
    assert (named.exit_code, named.stderr.splitlines()[-1]) == (1, "PDF needs more")


@pytest.mark.parametrize(
    ("options", "fault"),
    [
        ((), "give either --seed or --racks"),
        (("--racks", "-", "--count", "2"), "--count is for racks that are dealt"),
        (("--seed", "1", "--formats", "json,doc"), "'doc' is none of: json, csv, html, pdf"),
        (("--seed", "1", "--jobs", "2", "--dask", "tcp://x"), "--jobs and --dask exclude each other"),
        (("--racks", "/no/such/file"), "/no/such/file: "),
        (("--seed", "1", "--server", "here", "--jobs", "2"), "--server: not the URL of a server"),
    ],
)
def test_wrong_usage(make: Make, options: tuple[str, ...], fault: str) -> None:
    result, files = make(*options, stdin=RACK)
    assert (result.exit_code, result.stdout, files) == (2, "", {})
    assert fault in result.stderr


def test_no_server_and_a_server(make: Make, server: str, nowhere: str) -> None:
    asked = ("--seed", "4", "--count", "2", *QUICK)
    assert make(*asked)[1] == make(*asked, "--server", server, out="served")[1]
    gone, files = make(*asked, "--server", nowhere, out="gone")
    assert (gone.exit_code, gone.stdout, files) == (3, "", {})


def test_a_long_sheet_is_printed_in_parts(
    make: Make, posting: Posting, monkeypatch: pytest.MonkeyPatch
) -> None:
    needs_weasyprint()
    monkeypatch.setattr(module, "_PRINTED_AT_ONCE", 2)
    asked = posting()
    result, files = make("--seed", "5", "--count", "3", "--formats", "html,pdf")
    assert result.exit_code == 0, result.stderr
    printed = ["key-1-2.pdf", "key-3-3.pdf", "problems-1-2.pdf", "problems-3-3.pdf"]
    assert sorted(files) == sorted([*printed, "answers.jsonl", "key.html", "problems.html"])
    sent = [body["sheet"] for _, body in asked if body.get("format") == "pdf"]
    numbers = [[each["number"] for each in sheet["problems"]] for sheet in sent]
    assert numbers == [[each["number"] for each in sheet["key"]] for sheet in sent]
    assert numbers == [[1, 2], [3], [1, 2], [3]]


# Interruptions: what is finished is kept, and the same command goes on from there.
ASKED = ("--seed", "5", "--count", "6", "--difficulty", "close", "--formats", "json,csv")


@pytest.fixture
def whole(make: Make) -> dict[str, bytes]:
    """The files of a run that nothing disturbed."""
    result, files = make(*ASKED, out="whole")
    assert result.exit_code == 0, result.stderr
    return files


@pytest.mark.parametrize("most", [0, 4])
def test_an_interruption_keeps_what_is_finished(
    make: Make, whole: dict[str, bytes], most: int, monkeypatch: pytest.MonkeyPatch, stop_after: Any
) -> None:
    stop_after(most)
    result, files = make(*ASKED)
    monkeypatch.undo()
    assert (result.exit_code, result.stdout) == (130, "")
    answers = f"{most} answer{'' if most == 1 else 's'}"
    assert result.stderr.splitlines()[-1] == (
        f"interrupted: {answers} kept in answers.jsonl; the same command goes on from there"
    )
    assert sorted(files) == ["answers.jsonl"] * (most > 0)
    again, files = make(*ASKED)
    assert again.exit_code == 0, again.stderr
    assert again.stderr.startswith(f"going on: {answers} kept from before\n" if most else "")
    assert files == whole


@pytest.mark.parametrize("change", [("--count", "7"), ("--no-pairs",)])
def test_a_folder_of_another_request_is_refused(
    make: Make, whole: dict[str, bytes], change: tuple[str, ...]
) -> None:
    result, files = make(*ASKED, *change, out="whole")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "this folder has the answers of another request: make it again in its place" in result.stderr
    assert files == whole


def test_again_puts_another_request_in_its_place_with_a_heading(make: Make, whole: dict[str, bytes]) -> None:
    asked = (
        *ASKED[:-1],
        "html",
        "--count",
        "1",
        "--again",
        "--heading",
        "Lesson <1>",
        "--heading",
        "Tuesday",
    )
    result, files = make(*asked, out="whole")
    assert result.exit_code == 0, result.stderr
    assert "problems.csv" in whole
    assert sorted(files) == ["answers.jsonl", "key.html", "problems.html"]
    assert files == make(*asked, out="fresh")[1]
    assert all(b"Lesson &lt;1&gt; \xc2\xb7 Tuesday" in files[name] for name in ("key.html", "problems.html"))
    result, _ = make(*asked, "--heading", "1", "--heading", "2", out="whole")
    assert (result.exit_code, "--heading takes one to three" in result.stderr) == (2, True)


def test_a_full_disk_says_what_to_do_and_keeps_what_is_finished(
    make: Make, whole: dict[str, bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    append = batch.append
    written: list[int] = []

    def full_after_three(path: Path, line: bytes) -> None:
        written.append(len(line))
        if len(written) > 3:
            raise OSError(28, "No space left on device")
        append(path, line)

    monkeypatch.setattr(batch, "append", full_after_three)
    result, files = make(*ASKED)
    assert (result.exit_code, result.stdout) == (5, "")
    assert "No space left on device\nmake room or choose another folder" in result.stderr
    assert files["answers.jsonl"].count(b"\n") == 3
    monkeypatch.undo()
    again, files = make(*ASKED)
    assert again.exit_code == 0
    assert files == whole


@pytest.mark.parametrize("jobs", ["1", pytest.param("2", marks=pytest.mark.long)])
def test_ctrl_c_in_a_process_of_its_own(command: str, tmp_path: Path, jobs: str) -> None:
    out = tmp_path / "out"
    asked = ["sheet", "--card", "full", "--seed", "1", "--count", "500", "--formats", "json"]
    process = subprocess.Popen(
        [command, *asked, "--out", str(out), "--jobs", jobs],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )
    answers = out / "answers.jsonl"
    until(lambda: process.poll() is not None or (answers.exists() and answers.read_bytes().count(b"\n") > 3))
    # A terminal sends it to the workers too.
    os.killpg(process.pid, signal.SIGINT)
    try:
        stdout, stderr = process.communicate(timeout=60)
    finally:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
    assert process.returncode == 130, stderr
    assert stdout == b""
    last = stderr.decode().splitlines()[-1]
    kept = answers.read_bytes().splitlines()[1:]
    assert last == (
        f"interrupted: {len(kept)} answers kept in answers.jsonl; the same command goes on from there"
    )
    assert b"Traceback" not in stderr
    assert all(json.loads(line)["sheet"]["key"] for line in kept)
