"""Files of a sheet: HTML, CSV, and PDF read back by poppler's programs."""

import csv
import hashlib
import io
import json
import logging
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from api.problems import ProblemError
from api.sheets.files import file_of, pdf
from tests.api.asking import RACK
from tests.printing import needs_weasyprint

POPPLER = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="needs pdftotext (poppler-utils)")
Read = Callable[..., str]
AGAIN = """
import hashlib, sys
from api.answers.sheets import pages_of
from api.reading import parse_json
from api.sheets.files import file_of
print(hashlib.sha256(file_of(pages_of(parse_json(sys.stdin.buffer.read())))).hexdigest())
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
        if tag not in ("meta", "rect", "path", "circle", "ellipse", "polygon", "!doctype"):
            self.open.append(tag)

    def handle_startendtag(self, tag: str, _attrs: Any) -> None:
        self.tags.add(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.said.append(data)


def said(text: str) -> str:
    return " ".join(" ".join(Outline(text).said).replace("\u00a0", " ").split())


def html(asked: Any, part: str, **members: Any) -> str:
    return file_of(asked("html", part, **members)).decode()


@pytest.mark.parametrize("part", ["problems", "key"])
def test_the_page_is_whole(asked: Any, part: str) -> None:
    outline = Outline(html(asked, part, times=3))
    assert outline.open == []
    assert "script" not in outline.tags


def test_a_problem_has_rack_round_number_and_space_but_no_answer(asked: Any) -> None:
    text = html(asked, "problems")
    words = said(text)
    assert "1 First right pass three tiles" in words
    assert RACK in words
    assert "deal 0" in words
    assert text.count('class="box"') == 3
    assert text.count('class="tile"') == 14
    for secret in ("Next best", "Copper Pans", "0.512", "would be", "goes"):
        assert secret not in re.sub(r"<style>.*?</style>", "", text, flags=re.DOTALL)


def test_the_key_says_pass_gap_runner_ups_hands_and_why(asked: Any) -> None:
    words = said(html(asked, "key"))
    assert "Pass 4 crak, 6 crak, east wind rack strength 0.512" in words
    assert "4 crak, 6 crak, west wind 0.8 % weaker (0.0040)" in words
    assert "4 crak, east wind, west wind 2.1 % weaker (0.0110)" in words
    assert "Keeps Copper Pans (shelves) 11.0 %" in words
    assert "Gives up most of Open Window (weather) 4.0 % to 1.0 %" in words
    assert "Giving west wind in place of east wind would be 0.8 % weaker (0.0040)." in words
    assert "a close choice" in words


def test_the_tiles_that_go_are_marked(asked: Any, example: dict[str, Any]) -> None:
    answer = {**example["key"][0], "pass": ["5c", "E", "F"]}
    text = html(asked, "key", key=[answer])
    marked = re.findall(r'<span class="goes"><svg[^>]*aria-label="([^"]*)"', text)
    assert marked == ["5 crak", "east wind", "flower"]
    assert text.count('class="tile"') == 14


def test_seed_card_versions_and_page_numbers_are_at_the_foot(asked: Any) -> None:
    text = html(asked, "key")
    assert said(text).endswith("seed 5 · card Kitchen Table (small) · threepass 0.1.0, ortools 9.15.6755")
    assert 'content: "page " counter(page) " of " counter(pages)' in text
    assert '@bottom-left { content: "seed 5 \\b7  card Kitchen Table \\28 small\\29  ' in text
    assert "own racks · card" in said(html(asked, "problems", seed=None))


def test_what_holds_for_all_is_at_the_head(asked: Any) -> None:
    words = said(
        html(
            asked,
            "problems",
            difficulty="close",
            drill={"exchanges_left": 1, "then_draws": 9},
            arrivals={"charleston": 3, "draws": 9, "claims": 2},
            limits=["no two alike may go"],
        )
    )
    assert "Chosen for close choices." in words
    assert "One-person drill, 1 exchange left, then 9 tiles drawn." in words
    assert "To come: 3 tiles by exchanges, 9 from the wall, 2 discards you may call." in words
    assert "Limit: no two alike may go." in words


def test_a_round_with_a_choice_shows_every_number(asked: Any, example: dict[str, Any]) -> None:
    numbers = [
        {"give": 0, "blind": 3, "pass": [], "gap": 0.2},
        {"give": 2, "blind": 1, "pass": ["4c", "E"], "gap": 0.00001},
        {"give": 3, "blind": 0, "pass": ["4c", "6c", "E"], "gap": 0},
    ]
    problem = {**example["problems"][0], "round": "first_left"}
    words = said(html(asked, "key", problems=[problem], key=[{**example["key"][0], "by_number": numbers}]))
    assert "By number 3 blind 39.1 % weaker (0.2000)" in words
    assert "4 crak, east wind and 1 blind under 0.1 % weaker (under 0.0001) Keeps" in words
    assert "pass three, blind tiles among them if you like" in said(
        html(asked, "problems", problems=[problem])
    )


def test_an_answer_that_is_alone_gives_nothing(asked: Any, example: dict[str, Any]) -> None:
    bare = {"pass": [], "runner_ups": [], "gap": None, "closeness": None, "hands": [], "given_up": []}
    answer = {**example["key"][0], **bare}
    words = said(html(asked, "key", key=[answer]))
    assert "Pass nothing rack strength 0.512 No other Keeps no hand" in words
    assert "Gives up most of no hand that shows" in words
    assert "no other pass was found" in words


def test_an_empty_sheet_says_so(asked: Any) -> None:
    for part in ("problems", "key"):
        assert "There are no problems on this sheet." in said(html(asked, part, problems=[], key=[]))


def test_what_limits_cost_is_said(asked: Any, example: dict[str, Any]) -> None:
    for cost, says in ((0.128, "; the limits cost 20.0 % (0.1280)"), (0.0, "; the limits cost nothing")):
        text = said(html(asked, "key", key=[{**example["key"][0], "limits_cost": cost}]))
        assert f"rack strength 0.512{says}" in text


def test_nothing_in_a_sheet_becomes_markup_or_style(asked: Any, example: dict[str, Any]) -> None:
    hand = {**example["key"][0]["hands"][0], "name": HOSTILE, "family": HOSTILE}
    answer = {**example["key"][0], "hands": [hand], "sentence": HOSTILE}
    card = {"name": HOSTILE, "title": HOSTILE}
    text = html(asked, "key", key=[answer], card=card, limits=[HOSTILE])
    outline = Outline(text)
    assert "script" not in outline.tags and outline.open == []
    assert text.count("</style>") == 1
    assert said(text).count(" ".join(HOSTILE.split())) >= 5
    styles = text[text.index("<style>") : text.index("</style>")]
    assert HOSTILE not in styles and "${" not in styles


def table_rows(asked: Any, part: str, **members: Any) -> list[dict[str, str]]:
    content = file_of(asked("csv", part, **members))
    assert content.count(b"\n") == content.count(b"\r\n")
    return list(csv.DictReader(io.StringIO(content.decode(), newline="")))


def test_the_problems_are_racks_with_space(asked: Any) -> None:
    (row,) = table_rows(asked, "problems")
    assert row == {
        "number": "1",
        "seed": "5",
        "deal": "0",
        "round": "first_right",
        "rack": RACK,
        "pass": "",
        "notes": "",
    }


def test_the_key_has_every_number(asked: Any) -> None:
    (row,) = table_rows(asked, "key")
    assert row["pass"] == "4c 6c E"
    assert float(row["expected_hands"]) == 0.512
    assert (row["runner_up_2"], float(row["gap_2"])) == ("4c E W", 0.011)
    assert (row["hand_1"], row["family_1"], float(row["reach_1"])) == ("Copper Pans", "shelves", 0.11)
    assert row["hand_2"] == row["reach_3"] == row["given_up_2"] == ""
    assert (row["given_up_1"], float(row["given_up_from_1"]), float(row["given_up_to_1"])) == (
        "Open Window",
        0.04,
        0.01,
    )
    assert row["sentence"].startswith("Giving west wind")
    assert (row["card"], row["threepass"], row["ortools"]) == ("Kitchen Table", "0.1.0", "9.15.6755")


def test_missing_parts_keep_the_columns(asked: Any, example: dict[str, Any]) -> None:
    bare = {"pass": [], "runner_ups": [], "gap": None, "closeness": None, "hands": [], "given_up": []}
    (first,) = table_rows(asked, "key")
    (second,) = table_rows(asked, "key", key=[{**example["key"][0], **bare}])
    assert first.keys() == second.keys()
    assert second["runner_up_1"] == second["closeness"] == second["pass"] == ""
    assert second["sentence"] == first["sentence"]
    assert None not in second


def test_a_spreadsheet_finds_no_formula(asked: Any, example: dict[str, Any]) -> None:
    for start in "=+-@":
        hand = {**example["key"][0]["hands"][0], "name": f"{start}1+1"}
        answer = {**example["key"][0], "hands": [hand], "sentence": f'{start}HYPERLINK("x", 2)'}
        (row,) = table_rows(asked, "key", key=[answer], card={"name": "a", "title": f"{start}a"})
        assert row["hand_1"] == f"'{start}1+1"
        assert row["sentence"] == f'\'{start}HYPERLINK("x", 2)'
        assert row["card"] == f"'{start}a"


@pytest.fixture
def drawn() -> None:
    """Skip a test of PDF where none can be made."""
    needs_weasyprint()


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


@pytest.mark.usefixtures("drawn")
def test_the_same_sheet_is_the_same_bytes(asked: Any) -> None:
    first = file_of(asked("pdf", times=3))
    assert first.startswith(b"%PDF-")
    assert file_of(asked("pdf", times=3)) == first
    assert file_of(asked("pdf", times=2)) != first


@pytest.mark.usefixtures("drawn")
def test_another_process_makes_the_same_bytes(asked: Any, example: dict[str, Any]) -> None:
    request = json.dumps({"sheet": example, "format": "pdf", "part": "key", "paper": "a4"}).encode()
    here = hashlib.sha256(file_of(asked("pdf"))).hexdigest()
    for hash_seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-c", AGAIN],
            input=request,
            capture_output=True,
            check=True,
            env={"PYTHONHASHSEED": hash_seed},
        )
        assert done.stdout.decode().strip() == here


@pytest.mark.usefixtures("drawn")
@POPPLER
@pytest.mark.parametrize("part", ["problems", "key"])
@pytest.mark.parametrize(("paper", "size"), [("a4", (595.28, 841.89)), ("letter", (612, 792))])
def test_pages_size_and_foot(
    asked: Any, read: Read, part: str, paper: str, size: tuple[float, float]
) -> None:
    content = file_of(asked("pdf", part, paper, times=12))
    facts = read(content, "pdfinfo")
    pages = int(re.search(r"Pages: +(\d+)", facts)[1])  # type: ignore[index]
    wide, high = re.search(r"Page size: +([0-9.]+) x ([0-9.]+)", facts).groups()  # type: ignore[union-attr]
    assert (float(wide), float(high)) == pytest.approx(size, abs=0.5)
    assert re.search(r"Tagged: +yes", facts)
    assert 2 <= pages <= 4
    for number in range(1, pages + 1):
        text = read(content, "pdftotext", "-layout", "-f", str(number), "-l", str(number))
        last = text.strip().splitlines()[-1]
        assert last.startswith("seed 5 · card Kitchen Table (small) · threepass 0.1.0, ortools 9.15.6755")
        assert last.endswith(f"page {number} of {pages}")


@pytest.mark.usefixtures("drawn")
@POPPLER
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_problem_and_no_answer_is_split(asked: Any, read: Read, paper: str) -> None:
    for part, begins, ends in (
        ("problems", r"^ *(\d+) +First right", "^ *Pass "),
        ("key", r"^ *(\d+) +First right", "Giving west wind"),
    ):
        content = file_of(asked("pdf", part, paper, times=13))
        pages = read(content, "pdftotext", "-layout").split("\f")[:-1]
        found: list[str] = []
        for text in pages:
            numbers = re.findall(begins, text, re.MULTILINE)
            assert numbers, "a page without an entry"
            assert len(re.findall(ends, text, re.MULTILINE)) == len(numbers)
            found += numbers
        assert found == [str(number) for number in range(1, 14)]


@pytest.mark.usefixtures("drawn")
@POPPLER
def test_the_text_of_both_parts(asked: Any, read: Read) -> None:
    problems = read(file_of(asked("pdf", "problems")), "pdftotext", "-layout")
    assert "What should I pass?" in problems
    assert RACK in problems
    assert problems.split().count("crak") == 4
    assert "would be" not in problems and "Copper Pans" not in problems
    key = read(file_of(asked("pdf", "key")), "pdftotext", "-layout")
    for words in (
        "Answer key",
        "4 crak, 6 crak, east wind",
        "0.8 % weaker (0.0040)",
        "Copper Pans (shelves)",
        "11.0 %",
    ):
        assert words in key


@pytest.mark.usefixtures("drawn")
@POPPLER
def test_every_tile_has_its_name_for_screen_readers(asked: Any, read: Read) -> None:
    told = read(file_of(asked("pdf", "problems")), "pdfinfo", "-struct")
    assert told.count("Figure") == 14


@pytest.mark.usefixtures("drawn")
@pytest.mark.parametrize("scheme", ["http://127.0.0.1:9", "file://", "ftp://127.0.0.1:9"])
def test_nothing_is_loaded(caplog: pytest.LogCaptureFixture, tmp_path: Path, scheme: str) -> None:
    (tmp_path / "style.css").write_text("p { color: red }")
    address = f"{scheme}{tmp_path}/style.css"
    page = '<html lang="en"><title>a</title><link rel="stylesheet" href="{}"><p>text'
    assert pdf(page.format(address)).startswith(b"%PDF-")
    (said,) = [record.getMessage() for record in caplog.records if "style.css" in record.getMessage()]
    assert "Failed to load stylesheet" in said
    assert "protocol" in said


@pytest.mark.usefixtures("drawn")
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
    with pytest.raises(ProblemError, match="WeasyPrint"):
        pdf("<p>a")
