import re
from html.parser import HTMLParser
from typing import Any

import pytest

from api.sheets.files import file_of
from api.sheets.pages import page
from api.wire.sheets import Paper, Part

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
    return file_of(asked("html", part, **members)).content.decode()


@pytest.mark.parametrize("part", ["problems", "key"])
def test_the_page_is_whole(asked: Any, part: str) -> None:
    outline = Outline(html(asked, part, times=3))
    assert outline.open == []
    assert "script" not in outline.tags


def test_a_problem_has_rack_round_number_and_space_but_no_answer(asked: Any) -> None:
    text = html(asked, "problems")
    words = said(text)
    assert "1 First right pass three tiles" in words
    assert "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J" in words
    assert "deal 0" in words
    assert text.count('class="box"') == 3
    assert text.count('class="tile"') == 14
    for secret in ("Next best", "Steep Path", "0.512", "would cost", "goes"):
        assert secret not in re.sub(r"<style>.*?</style>", "", text, flags=re.DOTALL)


def test_the_key_says_pass_gap_runner_ups_hands_and_why(asked: Any) -> None:
    words = said(html(asked, "key"))
    assert "Pass 4 crak, 6 crak, east wind 0.512 hands" in words
    assert "Next best 4 crak, 6 crak, west wind 0.0040 less 4 crak, east wind, west wind 0.0110 less" in words
    assert "Keeps Steep Path (ladders) 11.0 %" in words
    assert "Gives up most of Twin Pears (couples) 4.0 % to 1.0 %" in words
    assert "Giving west wind in place of east wind would cost 0.004 expected hands." in words
    assert "a close call" in words


def test_the_tiles_that_go_are_marked(asked: Any, example: dict[str, Any]) -> None:
    answer = {**example["key"][0], "pass": ["5c", "E", "F"]}
    text = html(asked, "key", key=[answer])
    marked = re.findall(r'<span class="goes"><svg[^>]*aria-label="([^"]*)"', text)
    assert marked == ["5 crak", "east wind", "flower"]
    assert text.count('class="tile"') == 14


def test_seed_card_versions_and_page_numbers_are_at_the_foot(asked: Any) -> None:
    text = html(asked, "key")
    assert said(text).endswith("seed 5 · card Orchard (small) · threepass 0.1.0, ortools 9.15.6755")
    assert 'content: "page " counter(page) " of " counter(pages)' in text
    assert '@bottom-left { content: "seed 5 \\b7  card Orchard \\28 small\\29  ' in text
    assert "own racks · card" in said(html(asked, "problems", seed=None))


@pytest.mark.parametrize(("paper", "size"), [("a4", "A4"), ("letter", "letter")])
def test_paper(asked: Any, paper: str, size: str) -> None:
    assert f"size: {size};" in page(asked("html").sheet, Part.KEY, Paper(paper))


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
    assert "Chosen for close calls." in words
    assert "One-person drill, 1 exchange left, then 9 tiles drawn." in words
    assert "To come: 3 tiles by exchanges, 9 from the wall, 2 to claim." in words
    assert "Limit: no two alike may go." in words


def test_a_round_with_a_choice_shows_every_number(asked: Any, example: dict[str, Any]) -> None:
    numbers = [
        {"give": 0, "blind": 3, "pass": [], "gap": 0.2},
        {"give": 2, "blind": 1, "pass": ["4c", "E"], "gap": 0.00001},
        {"give": 3, "blind": 0, "pass": ["4c", "6c", "E"], "gap": 0},
    ]
    problem = {**example["problems"][0], "round": "first_left"}
    words = said(html(asked, "key", problems=[problem], key=[{**example["key"][0], "by_number": numbers}]))
    assert "By number 3 blind 0.2000 less 4 crak, east wind and 1 blind under 0.0001 less Keeps" in words
    assert "pass three, blind tiles among them if you like" in said(
        html(asked, "problems", problems=[problem])
    )


def test_an_answer_that_is_alone_gives_nothing_and_is_not_proved(asked: Any, example: dict[str, Any]) -> None:
    bare = {"pass": [], "runner_ups": [], "gap": None, "call": None, "hands": [], "given_up": []}
    answer = {**example["key"][0], **bare, "proved": False}
    words = said(html(asked, "key", key=[answer]))
    assert (
        "Pass nothing 0.512 hands, not proved No other Keeps no hand Gives up most of no hand that shows"
        in words
    )
    assert "no other pass was found" in words


def test_an_empty_sheet_says_so(asked: Any) -> None:
    for part in ("problems", "key"):
        assert "There are no problems on this sheet." in said(html(asked, part, problems=[], key=[]))


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
