"""Files of a sheet: HTML, CSV, and PDF read back by poppler's programs."""

import csv
import hashlib
import io
import logging
import os
import re
import shutil
import subprocess
import sys
from base64 import b64decode
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from threading import Timer
from typing import Any

import psutil
import pytest

from api import words as in_words
from api.answers.sheets import pages_of
from api.operations import examples
from api.sheets.files import file_of
from api.sheets.printing import drawn, pdf
from patterns.stopping import StoppedError, Stopper
from patterns.tiles import Tile
from tests.api.asking import RACK
from tests.printing import needs_weasyprint

ROOT = Path(__file__).parents[2]
POPPLER = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="needs pdftotext (poppler-utils)")
EXAMPLE = examples()["sheet_pages"]["key_as_table"]["sheet"]
ANSWER = EXAMPLE["key"][0]
AGAIN = """
import hashlib
from tests.api.test_files import file
print(hashlib.sha256(file("pdf", times=2)).hexdigest())
"""
HOSTILE = '</style><script>x</script>"\\ ${}'


class Outline(HTMLParser):
    """Tags that were not closed, and the text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: set[str] = set()
        self.said: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, _attrs: Any) -> None:
        self.tags.add(tag)
        if tag not in ("meta", "rect", "path", "circle", "ellipse", "polygon", "img", "!doctype"):
            self.open.append(tag)

    def handle_startendtag(self, tag: str, _attrs: Any) -> None:
        self.tags.add(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.said.append(data)


def said(text: str) -> str:
    return " ".join(" ".join(Outline(text).said).replace("\u00a0", " ").split())


def file(form: str, part: str = "key", paper: str = "a4", times: int = 1, **members: Any) -> bytes:
    """Return a file of the example so many times over, with members of it replaced."""
    sheet = {**EXAMPLE, **members}
    for name in ("problems", "key"):
        numbered = [(number, each) for number in range(1, times + 1) for each in sheet[name]]
        sheet[name] = [{**each, "number": number} for number, each in numbered]
    made = file_of(pages_of({"sheet": sheet, "format": form, "part": part, "paper": paper}))
    return pdf(made) if form == "pdf" else made


def html(part: str, **members: Any) -> str:
    return file("html", part, **members).decode()


@pytest.mark.parametrize("part", ["problems", "key"])
def test_the_page_is_whole(part: str) -> None:
    outline = Outline(html(part, times=3))
    assert outline.open == []
    assert "script" not in outline.tags


def test_a_problem_has_rack_round_number_and_space_but_no_answer() -> None:
    text = html("problems")
    words = said(text)
    assert "1 First right pass three tiles" in words
    assert RACK in words
    assert "deal 0" in words
    assert text.count('class="box"') == 3
    assert text.count('class="tile"') == 14
    for secret in ("Next best", "Copper Pans", "12.5", "would be", "goes"):
        assert secret not in re.sub(r"<style>.*?</style>", "", text, flags=re.DOTALL)


def test_the_key_draws_the_hands_that_it_names_and_which_tiles_are_held() -> None:
    hand, loss = ANSWER["hands"][0], ANSWER["given_up"][0]
    reasons = [{**loss, "name": "Third"}, loss]
    text = html("key", key=[{**ANSWER, "pass": ["4c", "E", "F"], "reasons": reasons}])
    images = re.findall('<img class="hand" alt="([^"]*)" src="data:image/svg[+]xml;base64,([^"]*)">', text)
    # That of the reason which stands above is drawn once.
    assert len(images) == 3 and text.partition('class="why"')[2].count('class="hand"') == 1
    name, image = images[0]
    assert name == in_words.tiles_words(map(Tile, hand["target"]))
    tiles = b64decode(image).decode().split('<g transform="translate(')[1:]
    tiles = [tile for tile in tiles if "<rect" in tile]
    # Held: one 2 bam, two 5 craks, no east wind any more, one of two flowers.
    held = [*(1, 0, 0, 0), *(1, 1, 0, 0), *(0, 0), *(1, 0, 0, 0)]
    assert ["#aaa" not in tile for tile in tiles] == held
    assert "bam</text>" not in "".join(tiles) and "bam</text>" in text


def test_nothing_in_a_sheet_becomes_markup_or_style() -> None:
    hand = {**ANSWER["hands"][0], "name": HOSTILE, "family": HOSTILE}
    answer = {**ANSWER, "hands": [hand], "sentence": HOSTILE}
    card = {"name": HOSTILE, "title": HOSTILE}
    text = html("key", key=[answer], card=card, limits=[HOSTILE])
    outline = Outline(text)
    assert "script" not in outline.tags and outline.open == []
    assert text.count("</style>") == 1
    assert said(text).count(" ".join(HOSTILE.split())) >= 5
    styles = text[text.index("<style>") : text.index("</style>")]
    assert HOSTILE not in styles and "${" not in styles


@pytest.mark.parametrize("mark", "\u061c\u202e\u2069")
def test_no_name_turns_round_what_stands_beside_it(mark: str) -> None:
    name = f"a{mark}b"
    answer = {**ANSWER, "hands": [{**ANSWER["hands"][0], "name": name, "family": name}], "sentence": name}
    text = html("key", key=[answer], card={"name": name, "title": name}, limits=[name])
    assert mark not in text and said(text).count("a?b") >= 5


def table_rows(part: str, **members: Any) -> list[dict[str, str]]:
    content = file("csv", part, **members)
    assert content.count(b"\n") == content.count(b"\r\n")
    return list(csv.DictReader(io.StringIO(content.decode(), newline="")))


def test_the_key_has_every_number() -> None:
    (row,) = table_rows("key")
    assert row["pass"] == "4c 6c E"
    assert (float(row["strength"]), float(row["expected_hands"])) == (0.0125, 0.512)
    assert (row["runner_up_2"], float(row["gap_2"])) == ("4c E W", 0.00026)
    assert (row["hand_1"], row["family_1"], float(row["reach_1"])) == ("Copper Pans", "shelves", 0.11)
    assert row["hand_2"] == row["reach_3"] == row["given_up_2"] == ""
    assert row["given_up_1"] == "Open Window"
    assert (float(row["given_up_from_1"]), float(row["given_up_to_1"])) == (0.04, 0.01)
    assert row["sentence"].startswith("Giving west wind")
    assert (row["card"], row["threepass"], row["ortools"]) == ("Kitchen Table", "0.1.0", "9.15.6755")


def test_a_spreadsheet_finds_no_formula() -> None:
    for start in (*"=+-@", "\uff1d", "\uff0b", " =", "\u00a0\u3000@", "\ufeff="):
        hand = {**ANSWER["hands"][0], "name": f"{start}1+1"}
        answer = {**ANSWER, "hands": [hand], "sentence": f'{start}HYPERLINK("x", 2)'}
        (row,) = table_rows("key", key=[answer], card={"name": "a", "title": f"{start}a"})
        assert row["hand_1"] == f"'{start}1+1"
        assert row["sentence"] == f'\'{start}HYPERLINK("x", 2)'
        assert row["card"] == f"'{start}a"


@dataclass(frozen=True)
class Printed:
    """One PDF of thirteen problems or answers, what was warned of when it was made, and where it lies."""

    content: bytes
    warned: Sequence[str]
    path: Path

    def read(self, program: str, *options: str) -> str:
        """Return what a program of poppler prints of it."""
        to_stdout = ["-"] if program == "pdftotext" else []
        command = [program, *options, str(self.path), *to_stdout]
        done = subprocess.run(command, capture_output=True, check=True)
        return done.stdout.decode().replace("\u00a0", " ")


Print = Callable[[str, str], Printed]


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> Print:
    needs_weasyprint()

    @cache
    def make(part: str, paper: str) -> Printed:
        warned, logger = list[str](), logging.getLogger("weasyprint")
        handler = logging.Handler(logging.WARNING)
        handler.emit = lambda record: warned.append(record.getMessage())  # type: ignore[method-assign]
        logger.addHandler(handler)
        content = drawn(file("html", part, paper, times=13))
        logger.removeHandler(handler)
        path = tmp_path_factory.mktemp("printed") / "it.pdf"
        path.write_bytes(content)
        return Printed(content, warned, path)

    return make


@pytest.mark.long
def test_another_process_makes_the_same_bytes() -> None:
    needs_weasyprint()
    content = file("pdf", times=2)
    assert content.startswith(b"%PDF-")
    done = subprocess.run(
        [sys.executable, "-c", AGAIN],
        cwd=ROOT,
        capture_output=True,
        check=True,
        env={**os.environ, "PYTHONHASHSEED": "1"},
    )
    assert done.stdout.decode().strip() == hashlib.sha256(content).hexdigest()


@POPPLER
@pytest.mark.parametrize(
    ("part", "begins", "ends"),
    [
        ("problems", r"^ *(\d+) +First right", "^ *Pass "),
        ("key", r"^ *(\d+) +First right", "Giving west wind"),
    ],
)
@pytest.mark.parametrize(("paper", "size"), [("a4", (595.28, 841.89)), ("letter", (612, 792))])
def test_pages_have_their_size_and_foot_and_split_nothing(
    printed: Print, part: str, begins: str, ends: str, paper: str, size: tuple[float, float]
) -> None:
    made = printed(part, paper)
    facts, pages = made.read("pdfinfo"), made.read("pdftotext", "-layout").split("\f")[:-1]
    wide, high = re.search(r"Page size: +([0-9.]+) x ([0-9.]+)", facts).groups()  # type: ignore[union-attr]
    assert (float(wide), float(high)) == pytest.approx(size, abs=0.5)
    assert re.search(r"Tagged: +yes", facts)
    assert len(pages) == {"problems": 3, "key": 5}[part]
    found: list[str] = []
    for number, text in enumerate(pages, 1):
        last = text.strip().splitlines()[-1]
        assert last.startswith("seed 5 · card Kitchen Table (small) · threepass 0.1.0, ortools 9.15.6755")
        assert last.endswith(f"page {number} of {len(pages)}")
        numbers = re.findall(begins, text, re.MULTILINE)
        assert len(numbers) in {"problems": (4, 5), "key": (2, 3)}[part], "a page fuller than others"
        assert len(re.findall(ends, text, re.MULTILINE)) == len(numbers)
        found += numbers
    assert found == [str(number) for number in range(1, 14)]


@POPPLER
def test_the_text_of_both_parts_and_the_names_of_tiles(printed: Print) -> None:
    problems = printed("problems", "a4").read("pdftotext", "-layout")
    assert "What should I pass?" in problems and problems.count(RACK) == 13
    assert "would be" not in problems and "Copper Pans" not in problems
    key = printed("key", "a4").read("pdftotext", "-layout")
    assert "Answer key" in key and "Copper Pans (shelves)" in key
    assert printed("problems", "a4").read("pdfinfo", "-struct").count("Figure") == 13 * 14


@pytest.mark.parametrize("part", ["problems", "key"])
def test_nothing_is_warned_of(printed: Print, part: str) -> None:
    made = printed(part, "a4")
    from weasyprint.text.ffi import harfbuzz_subset

    if harfbuzz_subset is None:
        pytest.skip("needs libharfbuzz-subset0")
    assert made.warned == []


@pytest.mark.parametrize("scheme", ["http://127.0.0.1:9", "file://", "ftp://127.0.0.1:9"])
def test_nothing_is_loaded(caplog: pytest.LogCaptureFixture, tmp_path: Path, scheme: str) -> None:
    needs_weasyprint()
    (tmp_path / "style.css").write_text("p { color: red }")
    address = f"{scheme}{tmp_path}/style.css"
    page = '<html lang="en"><title>a</title><link rel="stylesheet" href="{}"><p>text'
    assert drawn(page.format(address).encode()).startswith(b"%PDF-")
    (said,) = [record.getMessage() for record in caplog.records if "style.css" in record.getMessage()]
    assert "Failed to load stylesheet" in said
    assert "protocol" in said


def test_a_pdf_ends_with_the_work(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """What draws it would take ten minutes."""
    (tmp_path / "weasyprint.py").write_text("import time\ntime.sleep(600)")
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(tmp_path), *sys.path]))
    stopper, of_others = Stopper(), {*psutil.Process().children()}
    Timer(0.3, stopper.stop).start()
    with stopper.running(), pytest.raises(StoppedError):
        pdf(b"<p>text")
    assert {*psutil.Process().children()} <= of_others
