"""Asking, start to end, in a real browser: every number on the page is the service's."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from clients.cli.render.assumed import coming
from clients.cli.render.words import all_in_words, fine, hands, percent, tile_words
from tests.clients.web.asking import post
from tests.clients.web.conftest import Visit

RACK = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"


def ask(page: Page) -> None:
    page.get_by_role("button", name="Ask what to pass").click()
    expect(page.locator(".answer")).to_be_visible()


def advice(server: str, **members: object) -> dict[str, Any]:
    return post(server, "/v1/advice", rack=RACK, why=True, hands=8, **members)


def row(page: Page, region: str, at: int) -> list[str]:
    cells = page.get_by_role("region", name=region).locator("tbody tr").nth(at).locator("th, td")
    return [text.strip() for text in cells.all_inner_texts()]


def test_a_tapped_rack_is_answered_with_the_numbers_of_the_service(visit: Visit) -> None:
    page = visit.go()
    for token in RACK.split():
        page.get_by_role("button", name=f"Add {tile_words(token)}").click()
    expect(page.locator(".tally")).to_have_text("14 tiles of 13 or 14")
    page.get_by_label("Card").first.select_option("small")
    ask(page)

    answer = advice(visit.server, round="first_right", card="small")
    shown = page.locator(".verdict")
    assert shown.locator(".in-words").inner_text() == all_in_words(answer["pass"])
    assert shown.locator("[data-fact=after]").inner_text() == hands(answer["expected_hands"])
    assert shown.locator("[data-fact=before]").inner_text() == hands(answer["expected_hands_before"])
    assert shown.locator("[data-fact=proof]").inner_text().startswith("proved best")
    for at, other in enumerate(answer["alternatives"]):
        tiles, worth, gap = row(page, "Runners-up", at)
        assert tiles.startswith(all_in_words(other["pass"]))
        assert worth == hands(other["expected_hands"])
        assert gap == (f"{fine(other['gap'])} less" if other["gap"] else "the same")
    entries = page.locator(".hands > .hand")
    assert entries.count() == len(answer["hands"]) == 8
    for entry, hand in zip(entries.all(), answer["hands"], strict=True):
        assert entry.locator(".reach").inner_text() == percent(hand["reach"])
        assert hand["name"] in entry.locator(".hand-name").inner_text()
        assert entry.locator(".tile").count() == 14
        assert entry.locator(".tile.missing").count() == len(hand["missing"]) == hand["tiles_away"]
        assert entry.locator(".tile.joker").count() == hand["jokers_used"]
    for at, lost in enumerate(answer["given_up"]):
        expected = [
            f"{lost['name']} ({lost['family']})",
            percent(lost["reach_before"]),
            percent(lost["reach"]),
        ]
        assert row(page, "Hands made less likely", at)[:3] == expected
    assert coming(answer["assumptions"]["arrivals"]) in page.locator(".assumed").inner_text()
    for at, cost in enumerate(answer["why"]["costs"]):
        assert row(page, "Cost of passing", at)[:2] == [tile_words(cost["tile"]), fine(cost["cost"])]


def test_tiles_are_taken_off_again_and_the_set_has_no_fifth(visit: Visit) -> None:
    page = visit.go()
    rack = page.get_by_label("Rack", exact=True)
    add = page.get_by_role("button", name="Add 5 crak")
    for _ in range(4):
        add.click()
    expect(rack).to_have_value("5c 5c 5c 5c")
    add.click(force=True)
    expect(page.locator(".tally")).to_have_text("The set has no more of 5 crak.")
    rack.fill("5c zz E")
    expect(page.locator(".tally")).to_contain_text("not tiles: zz")
    page.get_by_role("button", name="Take off 5 crak").click()
    expect(rack).to_have_value("E zz")
    expect(page.get_by_role("button", name="Take off east wind")).to_be_focused()


def test_numbers_that_may_go_are_compared(visit: Visit) -> None:
    page = visit.go()
    page.get_by_label("Rack", exact=True).fill(RACK)
    page.get_by_role("radio", name="Left").first.check()
    ask(page)
    answer = advice(visit.server, round="first_left")
    for at, each in enumerate(answer["by_number"]):
        cells = row(page, "Each number", at)
        assert cells[0].split()[0] == str(each["give"])
        assert (cells[1], *cells[3:]) == (
            str(each["blind"]),
            hands(each["expected_hands"]),
            fine(each["gain"]),
        )
    page.get_by_label("Own tiles to give").select_option("1")
    with page.expect_response("**/v1/advice") as reply:
        page.get_by_role("button", name="Ask what to pass").click()
    assert json.loads(reply.value.request.post_data or "")["give"] == 1
    expect(page.locator(".the-pass")).to_contain_text("2 blind")


def test_limits_reach_the_service_and_a_clash_is_told_in_place(visit: Visit) -> None:
    page = visit.go()
    page.get_by_label("Rack", exact=True).fill(RACK)
    page.get_by_text("Limits on the pass").click()
    page.get_by_label("Must stay").fill("4b")
    page.get_by_label("Never pass two alike").check()
    page.get_by_label("Keep hands, at least").fill("2")
    page.get_by_label("each at a reach of, %").first.fill("3")
    page.get_by_text("Hands that count").click()
    page.get_by_label("giants: how it counts").select_option("without")
    page.get_by_label("Add a hand by its name").fill("Beacon")
    page.get_by_label("Add a hand by its name").press("Tab")
    page.get_by_label("Beacon: weight").fill("2.5")
    page.get_by_text("Tiles to come").click()
    page.get_by_label("Seen elsewhere").fill("9b")
    ask(page)
    limits = {
        "stay": "4b",
        "no_pairs": True,
        "keep_hands": {"count": 2, "reach": 0.03},
        "without": {"families": ["giants"]},
        "weights": {"Beacon": 2.5},
    }
    answer = advice(visit.server, round="first_right", limits=limits, seen="9b")
    assert page.locator(".in-words").inner_text() == all_in_words(answer["pass"])
    assert "; ".join(answer["assumptions"]["limits"]) in page.locator(".assumed").inner_text()

    page.get_by_label("Must go").fill("4b")
    page.get_by_role("button", name="Ask what to pass").click()
    expect(page.locator(".notice.bad")).to_contain_text("The limits contradict one another")
    expect(page.get_by_label("Must stay")).to_have_attribute("aria-invalid", "true")
    expect(page.locator(".faults:visible").first).to_contain_text("4 bam must")
    visit.expected_complaints("422")


def test_every_fault_is_told_at_its_place_and_nothing_typed_is_lost(visit: Visit) -> None:
    page = visit.go()
    rack = page.get_by_label("Rack", exact=True)
    rack.fill("2b 4b 5x")
    rack.press("Enter")
    expect(page.locator(".rack-input .faults li")).to_have_text(
        ["column 7: '5x' is not a tile", "2 tiles: a rack has 13 or 14"]
    )
    expect(rack).to_be_focused()
    assert rack.input_value() == "2b 4b 5x"
    assert rack.get_attribute("aria-invalid") == "true"
    described = (rack.get_attribute("aria-describedby") or "").split()
    assert "is not a tile" in " ".join(page.locator(f"#{each}").inner_text() for each in described)
    visit.expected_complaints("422")


@pytest.mark.parametrize("own", [False, True], ids=["a card of the service", "a card of one's own"])
def test_a_question_is_shared_by_its_address(
    visiting: Callable[..., Visit], card_file: Any, own: bool
) -> None:
    visit = visiting()
    page = visit.go()
    page.get_by_label("Rack", exact=True).fill(RACK)
    page.get_by_role("radio", name="Across").first.check()
    if own:
        page.get_by_label("Card", exact=True).first.select_option(label="A card file of my own…")
        page.get_by_label("Card file").first.set_input_files(card_file)
        expect(page.locator(".check-result").first).to_contain_text("Two Of Mine: no faults; 2 hands")
    page.get_by_text("Limits on the pass").click()
    page.get_by_label("Never pass a flower").check()
    ask(page)
    link = page.get_by_label("Link to this question").input_value()
    assert link == page.url
    first = page.locator(".answer").inner_text()

    other = visiting()
    other.page.goto(link)
    expect(other.page.locator(".answer")).to_be_visible()
    assert other.page.locator(".answer").inner_text() == first
    assert other.page.get_by_label("Rack", exact=True).input_value() == RACK
    expect(other.page.get_by_role("radio", name="Across").first).to_be_checked()
    expect(other.page.get_by_label("Never pass a flower")).to_be_checked()


def test_an_address_that_was_cut_short_is_told(visit: Visit) -> None:
    page = visit.go("#/ask?rack=2b&more=%7B%22lim")
    expect(page.locator(".notice.bad")).to_contain_text("cannot be read")


def test_what_was_typed_survives_a_reload_and_the_other_view(visit: Visit) -> None:
    page = visit.go()
    rack = page.get_by_label("Rack", exact=True)
    rack.fill("2b 4b oops")
    page.get_by_role("link", name="Practise").click()
    expect(page.get_by_role("heading", name="A new lap")).to_be_visible()
    page.get_by_role("link", name="Ask").click()
    assert rack.input_value() == "2b 4b oops"
    page.reload()
    assert rack.input_value() == "2b 4b oops"
