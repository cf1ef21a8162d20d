"""A card file in the page: its faults stand beside their lines, and can be mended there."""

from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect

from tests.clients.web.asking import post
from tests.clients.web.conftest import Visit

FAULTY = """[card]
name = "Pier"

[[hand]]
name = "Long Pier"
family = "piers"
groups = "flower*2 np*4 (n+1)p*4 (n+2)z*4"

[[hand]]
name = "Short Pier"
family = "piers"
groups = "1p*4 2p*4 3p*3 flower*2"
"""


@pytest.fixture
def page(visit: Visit) -> Page:
    page = visit.go()
    page.get_by_label("Card", exact=True).first.select_option(label="A card file of my own…")
    return page


def test_each_fault_stands_with_its_line_and_is_mended_there(
    page: Page, visit: Visit, tmp_path: Path
) -> None:
    file = tmp_path / "pier.toml"
    file.write_text(FAULTY, encoding="utf-8")
    page.get_by_label("Card file").first.set_input_files(file)
    told = post(visit.server, "/v1/cards/check", card={"toml": FAULTY, "file": "pier.toml"})["faults"]
    faults = page.locator(".card-faults > li")
    expect(faults).to_have_count(len(told))
    assert len(told) == 2
    for shown, fault in zip(faults.all(), told, strict=True):
        assert fault["detail"] in shown.inner_text()
    assert "expected a suit" in faults.first.inner_text()
    assert faults.first.locator(".excerpt code").inner_text() == FAULTY.splitlines()[6]

    text = page.get_by_label("Text of the card").first
    page.get_by_role("button", name="Go to line 7").click()
    expect(text).to_be_focused()
    selected = "el => el.value.slice(el.selectionStart, el.selectionEnd)"
    assert text.evaluate(selected) == FAULTY.splitlines()[6]
    mended = FAULTY.replace("2)z*4", "2)p*4").replace("3p*3", "3p*4")
    text.fill(mended)
    expect(page.locator(".check-result").first).to_have_text("Changed: check it again.")
    page.get_by_role("button", name="Check this card").first.click()
    expect(page.locator(".check-result").first).to_contain_text("Pier: no faults; 2 hands, 24 targets")
    page.get_by_label("Rack", exact=True).fill("2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J")
    page.get_by_role("button", name="Ask what to pass").click()
    expect(page.locator(".assumed")).to_contain_text("Card: Pier, 2 hands, 24 targets.")


def test_a_file_may_be_dropped(page: Page, card_file: Path) -> None:
    text = card_file.read_text(encoding="utf-8")
    data = page.evaluate_handle(
        "text => { const all = new DataTransfer();"
        " all.items.add(new File([text], 'mine.toml')); return all; }",
        text,
    )
    page.dispatch_event(".own-card >> nth=0", "drop", {"dataTransfer": data})
    expect(page.locator(".check-result").first).to_contain_text("Two Of Mine: no faults")
    assert page.get_by_label("Text of the card").first.input_value() == text


def test_a_file_that_is_no_text_is_refused(page: Page, tmp_path: Path) -> None:
    file = tmp_path / "card.toml"
    file.write_bytes(b"\xff\xfe\x00")
    page.get_by_label("Card file").first.set_input_files(file)
    expect(page.locator(".own-card .notice").first).to_contain_text("card.toml cannot be read")


def test_a_faulty_card_may_not_be_asked_with(page: Page, visit: Visit) -> None:
    page.get_by_label("Text of the card").first.fill(FAULTY)
    page.get_by_label("Rack", exact=True).fill("2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J")
    page.get_by_role("button", name="Ask what to pass").click()
    expect(page.locator(".card-chooser > .field .faults").first).to_contain_text("line 7, groups")
    visit.expected_complaints("422")


def test_what_is_chosen_while_the_list_of_cards_is_on_its_way_stays(visit: Visit) -> None:
    held: list[Route] = []
    visit.page.route("**/v1/cards", lambda route: held.append(route))
    page = visit.go()
    chosen = page.get_by_label("Card", exact=True).first
    chosen.select_option(label="A card file of my own…")
    for route in held:
        route.continue_()
    expect(chosen.locator("option").first).to_have_text("Harbour Town (full)")
    expect(chosen.locator("option:checked")).to_have_text("A card file of my own…")
