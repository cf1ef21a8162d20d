"""PDF: pages, size, text, the same bytes. Read back by poppler's programs."""

import hashlib
import json
import logging
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from api.problems import NotInstalledError
from api.sheets.files import file_of
from api.sheets.pdf import pdf
from tests.printing import needs_weasyprint

needs_weasyprint()
POPPLER = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="needs pdftotext (poppler-utils)")
Read = Callable[..., str]
AGAIN = """
import hashlib, sys
from api.convert.pages import pages_of
from api.body import parse_json
from api.sheets.files import file_of
print(hashlib.sha256(file_of(pages_of(parse_json(sys.stdin.buffer.read()))).content).hexdigest())
"""


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Return what a program of poppler prints of a PDF."""

    def run(content: bytes, program: str, *options: str) -> str:
        path = tmp_path / "it.pdf"
        path.write_bytes(content)
        to_stdout = ["-"] if program == "pdftotext" else []
        done = subprocess.run([program, *options, str(path), *to_stdout], capture_output=True, check=True)
        return done.stdout.decode().replace("\u00a0", " ")

    return run


def test_the_same_sheet_is_the_same_bytes(asked: Any) -> None:
    first = file_of(asked("pdf", times=3)).content
    assert first.startswith(b"%PDF-")
    assert file_of(asked("pdf", times=3)).content == first
    assert file_of(asked("pdf", times=2)).content != first


def test_another_process_makes_the_same_bytes(asked: Any, example: dict[str, Any]) -> None:
    request = json.dumps({"sheet": example, "format": "pdf", "part": "key"}).encode()
    here = hashlib.sha256(file_of(asked("pdf")).content).hexdigest()
    for hash_seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-c", AGAIN],
            input=request,
            capture_output=True,
            check=True,
            env={"PYTHONHASHSEED": hash_seed},
        )
        assert done.stdout.decode().strip() == here


@POPPLER
@pytest.mark.parametrize("part", ["problems", "key"])
@pytest.mark.parametrize(("paper", "size"), [("a4", (595.28, 841.89)), ("letter", (612, 792))])
def test_pages_size_and_foot(
    asked: Any, read: Read, part: str, paper: str, size: tuple[float, float]
) -> None:
    content = file_of(asked("pdf", part, paper, times=12)).content
    facts = read(content, "pdfinfo")
    pages = int(re.search(r"Pages: +(\d+)", facts)[1])  # type: ignore[index]
    wide, high = re.search(r"Page size: +([0-9.]+) x ([0-9.]+)", facts).groups()  # type: ignore[union-attr]
    assert (float(wide), float(high)) == pytest.approx(size, abs=0.5)
    assert re.search(r"Tagged: +yes", facts)
    assert 2 <= pages <= 4
    for number in range(1, pages + 1):
        text = read(content, "pdftotext", "-layout", "-f", str(number), "-l", str(number))
        last = text.strip().splitlines()[-1]
        assert last.startswith("seed 5 · card Orchard (small) · threepass 0.1.0, ortools 9.15.6755")
        assert last.endswith(f"page {number} of {pages}")


@POPPLER
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_problem_and_no_answer_is_split(asked: Any, read: Read, paper: str) -> None:
    for part, begins, ends in (
        ("problems", r"^ *(\d+) +First right", "^ *Pass "),
        ("key", r"^ *(\d+) +First right", "Giving west wind"),
    ):
        content = file_of(asked("pdf", part, paper, times=20)).content
        pages = read(content, "pdftotext", "-layout").split("\f")[:-1]
        found: list[str] = []
        for text in pages:
            numbers = re.findall(begins, text, re.MULTILINE)
            assert numbers, "a page without an entry"
            assert len(re.findall(ends, text, re.MULTILINE)) == len(numbers)
            found += numbers
        assert found == [str(number) for number in range(1, 21)]


@POPPLER
def test_the_text_of_both_parts(asked: Any, read: Read) -> None:
    problems = read(file_of(asked("pdf", "problems")).content, "pdftotext", "-layout")
    assert "What should I pass?" in problems
    assert "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J" in problems
    assert problems.split().count("crak") == 4
    assert "would cost" not in problems and "Steep Path" not in problems
    key = read(file_of(asked("pdf", "key")).content, "pdftotext", "-layout")
    for words in ("Answer key", "4 crak, 6 crak, east wind", "0.0040 less", "Steep Path (ladders)", "11.0 %"):
        assert words in key


@POPPLER
def test_every_tile_has_its_name_for_screen_readers(asked: Any, read: Read) -> None:
    told = read(file_of(asked("pdf", "problems")).content, "pdfinfo", "-struct")
    assert told.count("Figure") == 14


@pytest.mark.parametrize("scheme", ["http://127.0.0.1:9", "file://", "ftp://127.0.0.1:9"])
def test_nothing_is_loaded(caplog: pytest.LogCaptureFixture, tmp_path: Path, scheme: str) -> None:
    (tmp_path / "style.css").write_text("p { color: red }")
    address = f"{scheme}{tmp_path}/style.css"
    page = '<html lang="en"><title>a</title><link rel="stylesheet" href="{}"><p>text'
    assert pdf(page.format(address)).startswith(b"%PDF-")
    (said,) = [record.getMessage() for record in caplog.records if "style.css" in record.getMessage()]
    assert "Failed to load stylesheet" in said
    assert "protocol" in said


@pytest.mark.parametrize("part", ["problems", "key"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_nothing_is_warned_of(asked: Any, caplog: pytest.LogCaptureFixture, part: str, paper: str) -> None:
    from weasyprint.text.ffi import harfbuzz_subset

    if harfbuzz_subset is None:
        pytest.skip("needs libharfbuzz-subset0")
    with caplog.at_level(logging.WARNING, "weasyprint"):
        file_of(asked("pdf", part, paper, times=2))
    assert [record.getMessage() for record in caplog.records] == []


def test_without_what_draws_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(NotInstalledError, match="WeasyPrint"):
        pdf("<p>a")
