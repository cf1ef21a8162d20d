"""Cards: looked at, made by tapping alone, mended as text; one chosen card for all views."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx2
from playwright.sync_api import Page, expect

from patterns.card_file import read_toml
from tests.clients.conftest import OWN_CARD, RACK
from tests.clients.web.conftest import Visit, ask, choose_card, own_card, post, tiles_in

RIGHT = OWN_CARD.read_text(encoding="utf-8")
# The own card with a suit that is none in its first hand (line 7), and a tile too few in its third.
FAULTY = RIGHT.replace("(n+1)q*4", "(n+1)z*4").replace("dragon(r)*4", "dragon(r)*3")


def text_of(page: Page) -> str:
    part = page.locator(".card-as-text")
    if part.get_attribute("open") is None:
        part.locator("summary").click()
    # The service writes it anew after each change.
    expect(page.get_by_role("button", name="Save as a file")).to_be_enabled()
    return page.get_by_label("Text of the card").input_value()


def tap(page: Page, *names: str) -> None:
    for name in names:
        page.get_by_role("button", name=name, exact=True).click()


def test_every_hand_of_a_card_is_drawn_and_filtered(visit: Visit) -> None:
    card = httpx2.get(f"{visit.server}/v1/cards/small", trust_env=False).json()
    page = visit.go("#/cards")
    page.get_by_role("link", name=card["title"]).click()
    hands = page.locator(".drawn-hand")
    expect(hands).to_have_count(len(card["hands"]))
    told = {hand["name"]: hand for hand in card["hands"]}
    for shown in hands.all():
        hand = told[shown.locator(".hand-name").inner_text()]
        assert tiles_in(shown) == hand["example"]
        assert shown.locator(".away").inner_text() == hand["words"]["chance"]
        assert hand["words"]["forms"] in shown.inner_text()
        assert hand["words"]["free"] in shown.inner_text()
        assert ("concealed" in shown.locator(".hint").inner_text()) is hand["concealed"]
    family = card["families"][1]
    page.get_by_label("Family").select_option(family)
    of_family = [hand["name"] for hand in card["hands"] if hand["family"] == family]
    expect(page.locator(".hand-name")).to_have_text(of_family)
    page.get_by_label("Family").select_option("")
    page.get_by_label("Kind of hand").select_option("concealed")
    expect(hands).to_have_count(sum(hand["concealed"] for hand in card["hands"]))


def test_a_card_is_made_by_tapping_alone(visit: Visit) -> None:
    """The rules are those of the own card: steps that double, and five apart with one wind or another."""
    page = visit.go("#/cards")
    tap(page, "Make a new card")
    page.get_by_label("Name of the card").fill("Taps")
    tap(page, "+ Add a hand")
    page.get_by_label("Name of the hand").fill("Copper Pans")
    tap(page, "Flower", "4 of it", "Number", "n", "any suit", "3 of it")
    tap(page, "n + 1", "another suit", "4 of it", "n + 3")
    expect(page.locator(".total")).to_contain_text("11 of 14 tiles")
    tap(page, "another suit", "3 of it")
    expect(page.locator(".total")).to_have_text(
        "14 of 14 tiles: 36 exact forms, the three suits in any order; n any number"
    )
    tap(page, "Done with this hand", "+ Add a hand")
    tap(page, "n", "any suit", "4 of it", "n + 5", "another suit", "4 of it", "Wind", "north", "3 of it")
    tap(page, "Flower", "2 of it")
    expect(page.locator(".open-hand .faults")).to_contain_text("13 tiles")
    # A group is changed where it stands.
    page.get_by_role("button", name="Change group 4").click()
    tap(page, "3 of it")
    page.get_by_text("Concealed, weight").click()
    page.get_by_label("Concealed", exact=True).check()
    page.get_by_label("How much it counts").fill("1.5")
    page.get_by_label("n to", exact=True).select_option("3")
    tap(page, "+ Another way to make this hand")
    page.get_by_role("button", name="Change group 3").click()
    tap(page, "west")
    expect(page.locator(".standing")).to_contain_text("No faults: 2 hands, ")
    made = read_toml(text_of(page), "made")[0]
    assert made == {
        "card": {"name": "Taps"},
        "hand": [
            {"name": "Copper Pans", "family": "hands", "groups": "flower*4 np*3 (n+1)q*4 (n+3)r*3"},
            {
                "name": "Hand 1",
                "family": "hands",
                "groups": ["np*4 (n+5)q*4 north*3 flower*3", "np*4 (n+5)q*4 west*3 flower*3"],
                "concealed": True,
                "weight": 1.5,
                "where": "n in 1..3",
            },
        ],
    }
    tap(page, "Undo")
    expect(page.get_by_label("Text of the card")).not_to_have_value(re.compile("west"))
    # It is the card of every view from now on, also tomorrow.
    tap(page, "Use this card")
    page.get_by_role("link", name="Ask").click()
    page.reload()
    page.get_by_label("Rack", exact=True).fill(RACK)
    ask(page)
    page.get_by_text("Assumed", exact=True).click()
    expect(page.locator(".assumed")).to_contain_text("Card: Taps, 2 hands")


def test_text_is_taken_and_given_back_as_it_is(visit: Visit, tmp_path: Path) -> None:
    page = own_card(visit, RIGHT)
    # Remarks and all.
    assert text_of(page) == RIGHT
    page.get_by_role("button", name="Change Copper Pans").click()
    page.get_by_label("Family").fill("pots")
    expect(page.get_by_label("Text of the card")).to_have_value(toml_with("pots"))
    with page.expect_download() as download:
        tap(page, "Save as a file")
    assert download.value.suggested_filename == "Kitchen Table.toml"
    assert download.value.path().read_text(encoding="utf-8") == toml_with("pots")


def toml_with(family: str) -> str:
    from patterns.card_file import toml_of

    written: Any = read_toml(RIGHT, "own")[0]
    written["hand"][0]["family"] = family
    return toml_of(written)


def test_all_faults_stand_where_they_are_and_shorthand_is_met_with_the_right_form(visit: Visit) -> None:
    page = own_card(visit, FAULTY)
    expect(page.locator(".standing .bad")).to_have_text("2 faults: each stands with its hand.")
    rows = page.locator(".hand-row")
    expect(rows.nth(0).locator(".open-row > .bad")).to_contain_text("expected")
    expect(rows.nth(1).locator(".open-row > .bad")).to_have_count(0)
    expect(rows.nth(2).locator(".open-row > .bad")).to_have_text("13 tiles: a hand has 14")
    page.get_by_role("button", name="Change Copper Pans").click()
    expect(page.locator(".group-row").nth(2).locator(".faults")).to_contain_text("in '(n+1)z*4'")
    page.get_by_text("Concealed, weight").click()
    page.get_by_label("The groups as they are written").fill("FFFF np*3 44q (n+3)r*3")
    faults = page.locator(".group-row .faults")
    expect(faults).to_have_count(2)
    expect(faults.nth(0)).to_contain_text("write flower*4")
    expect(faults.nth(1)).to_contain_text("write 4q*2")
    page.get_by_label("The groups as they are written").fill("flower*4 np*3 (n+1)q*4 (n+3)r*3")
    expect(page.locator(".total")).to_contain_text("36 exact forms")


def test_text_that_is_not_toml_is_mended_by_its_lines(visit: Visit) -> None:
    broken = RIGHT.replace('name = "Left Out"', 'name = "Left Out')
    page = own_card(visit, broken)
    faults = page.locator(".card-faults > li")
    told = post(visit.server, "/v1/cards/check", card={"toml": broken, "file": "x.toml"})["faults"]
    expect(faults).to_have_count(len(told))
    page.get_by_role("button", name="Go to line").first.click()
    text = page.get_by_label("Text of the card")
    expect(text).to_be_focused()
    assert text.evaluate("el => el.value.slice(el.selectionStart, el.selectionEnd)") == 'name = "Left Out'
    text.fill(RIGHT)
    tap(page, "Take this text")
    expect(page.locator(".standing")).to_contain_text("No faults: 4 hands")


def test_one_card_is_chosen_for_all_views_and_kept(visiting: Callable[..., Visit]) -> None:
    visit = visiting()
    page = visit.go("#/cards")
    page.get_by_role("button", name="Use Orchard").click()
    expect(page.locator("#chosen-card")).to_have_text("Orchard")
    for view in ("Ask", "Practice"):
        page.get_by_role("link", name=view, exact=True).click()
        expect(page.locator(".view:not([hidden])").get_by_label("Card", exact=True)).to_have_value("small")
    page.reload()
    expect(page.locator(".view:not([hidden])").get_by_label("Card", exact=True)).to_have_value("small")
    choose_card(page, "full")
    page.get_by_role("link", name="Cards", exact=True).click()
    expect(page.locator("#chosen-card")).to_have_text("Harbor Town")


def test_a_card_of_this_browser_is_removed_when_that_is_meant(visit: Visit) -> None:
    page = own_card(visit, RIGHT)
    page.get_by_role("link", name="All cards").click()
    page.once("dialog", lambda dialog: dialog.dismiss())
    tap(page, "Remove Kitchen Table")
    page.once("dialog", lambda dialog: dialog.accept())
    tap(page, "Remove Kitchen Table")
    expect(page.get_by_text("Kitchen Table")).to_have_count(0)


def test_a_card_that_is_not_there_is_told(visit: Visit) -> None:
    page = visit.go("#/cards/show/own:9")
    expect(page.locator(".notice.bad")).to_contain_text("no card of the service has this name")
    visit.expected_complaints("404")
