"""Asking, start to end, in a real browser: every word and number of an answer is the service's."""

import base64
import json
import re
import zlib
from collections.abc import Callable
from typing import Any

import httpx2
import pytest
from playwright.sync_api import Page, expect

from patterns.tiles import Tile
from tests.clients.conftest import OWN_CARD, RACK
from tests.clients.web.conftest import (
    Visit,
    ask,
    choose_card,
    everything_open,
    own_card,
    post,
    tiles_in,
    words_of,
)


def advice(server: str, **members: object) -> dict[str, Any]:
    return post(server, "/v1/advice", rack=RACK, why=True, hands=8, **members)


def rows(page: Page, region: str) -> list[list[str]]:
    """Return the texts of a table's rows, without those of tiles that are drawn."""
    texts: list[list[str]] = page.get_by_role("region", name=region).evaluate(
        "el => [...el.querySelectorAll('tbody tr')].map("
        "row => [...row.cells].map(each => each.innerText.replaceAll('\u00a0', ' ').trim()))"
    )
    return texts


def test_a_tapped_rack_is_answered_in_the_words_of_the_service(visit: Visit) -> None:
    page = visit.go()
    for token in RACK.split():
        page.get_by_role("button", name=f"Add {Tile(token).word}").click()
    expect(page.locator(".tally")).to_have_text("14 tiles of 13 or 14")
    choose_card(page, "small")
    ask(page)

    answer = advice(visit.server, round="first_right", card="small")
    words = answer["words"]
    assert page.locator(".verdict h2").inner_text() == f"{words['round']}: what to pass"
    assert page.locator(".of-card").inner_text() == "Card: Orchard"
    assert tiles_in(page.locator(".strip")) == answer["rack"]
    worth = {each["tile"]: each["words"]["worth"] for each in answer["keep"]}
    assert page.locator(".strip .worth").all_inner_texts() == [worth.get(tile, "") for tile in answer["rack"]]
    bars = page.locator(".bars li")
    assert bars.locator(".bar-name").all_inner_texts() == [each["name"] for each in answer["families"]]
    for bar, family in zip(bars.all(), answer["families"], strict=True):
        assert family["words"]["after"] in bar.inner_text()
        assert family["words"]["before"] in bar.inner_text()
    verdict = page.locator(".verdict")
    assert verdict.locator(".in-words").inner_text() == words["pass"] == words_of(answer["pass"])
    assert words["strength_note"] in verdict.locator(".hint").all_inner_texts()
    for fact, name in (
        ("strength", "strength"),
        ("some", "some_hand"),
        ("proof", "proof"),
        ("close", "closeness"),
    ):
        assert verdict.locator(f"[data-fact={fact}]").inner_text().lower() == words[name].lower()
    entries = page.locator(".hands > .hand:visible")
    assert entries.count() == 3
    everything_open(page)
    assert answer["why"]["sentence"] in page.locator(".answer").inner_text()
    others = answer["alternatives"]
    assert [row[1:] for row in rows(page, "Runners-up")] == [
        [each["words"]["strength"], each["words"]["loss"]] for each in others
    ]
    assert rows(page, "Runners-up")[0][0].startswith(words_of(others[0]["pass"]))
    assert entries.count() == len(answer["hands"]) == 8
    for entry, hand in zip(entries.all(), answer["hands"], strict=True):
        assert entry.locator(".reach").inner_text() == hand["words"]["chance"]
        assert entry.locator(".away").inner_text() == hand["words"]["facts"]
        assert hand["name"] in entry.locator(".hand-name").inner_text()
        assert entry.locator(".tile").count() == 14
        assert entry.locator(".tile.missing").count() == len(hand["missing"]) == hand["tiles_away"]
        assert entry.locator(".tile.joker").count() == hand["jokers_used"]
    assert rows(page, "Hands made less likely") == [
        [f"{each['name']} ({each['family']})", *(each["words"][name] for name in ("from", "to", "lost"))]
        for each in answer["given_up"]
    ]
    assert [row[:2] for row in rows(page, "Cost of passing")] == [
        [each["words"]["tile"], each["words"]["loss"]] for each in answer["why"]["costs"]
    ]
    assert page.locator(".assumed li").all_inner_texts() == answer["assumptions"]["words"]


@pytest.mark.parametrize(("wide", "high", "thumb"), [(1280, 800, 0), (360, 740, 370)])
def test_rack_round_and_ask_are_seen_without_more_than_a_thumb_of_scrolling(
    visiting: Callable[..., Visit], wide: int, high: int, thumb: int
) -> None:
    page = visiting(wide=wide, high=high).go()
    page.get_by_label("Rack", exact=True).fill(RACK)
    for button in page.locator(".kind").all():
        box = button.bounding_box()
        assert box is not None
        assert box["width"] >= 40
    box = page.get_by_role("button", name="Ask what to pass").bounding_box()
    assert box is not None
    assert box["y"] + box["height"] <= high + thumb


def test_an_answer_is_never_taken_for_one_to_another_question(visit: Visit) -> None:
    page = visit.go()
    rack = page.get_by_label("Rack", exact=True)
    rack.fill(RACK)
    ask(page)
    old = page.locator(".old-note")
    expect(old).to_be_hidden()
    rack.fill(RACK.replace("2b", "3b"))
    expect(old).to_contain_text("The question has changed")
    rack.fill(RACK)
    expect(old).to_be_hidden()
    page.get_by_role("radio", name="Across").first.check()
    expect(old).to_be_visible()
    page.get_by_role("radio", name="Right").first.check()
    rack.fill(RACK + " 1b")
    page.get_by_role("button", name="Ask what to pass").click()
    expect(old).to_contain_text("was not answered")
    # What told of a fault is gone once its cause is.
    expect(page.locator(".notice.bad")).to_be_visible()
    rack.fill(RACK)
    expect(page.locator(".notice.bad")).to_have_count(0)
    visit.expected_complaints("422")


def test_a_pass_of_ones_own_is_held_against_the_best(visit: Visit) -> None:
    page = visit.go()
    page.get_by_label("Rack", exact=True).fill(RACK)
    page.get_by_text("And my own pass?").click()
    for tile in ("8 dot", "east wind", "flower", "joker"):
        page.locator(".my-pass").get_by_role("button", name=f"Pass {tile}").first.click()
    expect(page.locator(".my-pass [role=status]")).to_have_text("A joker may never be passed.")
    ask(page)
    mine = advice(visit.server, round="first_right", mine="8d E F")["mine"]
    told = [words for words in mine["words"].values() if words]
    assert page.locator(".mine-told li").all_inner_texts() == told
    # The link has it, and a tile that leaves the rack leaves the pass.
    expect(page).to_have_url(re.compile("mine"))
    page.get_by_label("Rack", exact=True).fill(RACK.replace("8d", "9d"))
    expect(page.locator(".my-pass [aria-pressed=true]")).to_have_count(2)


def test_back_goes_to_the_question_before(visit: Visit) -> None:
    page = visit.go()
    rack = page.get_by_label("Rack", exact=True)
    rack.fill(RACK)
    ask(page)
    first = page.url
    rack.fill(RACK.replace("2b", "3b"))
    page.get_by_role("button", name="Ask what to pass").click()
    expect(page.locator(".old-note")).to_be_hidden()
    page.wait_for_url(lambda url: url != first)
    page.go_back()
    expect(rack).to_have_value(RACK)
    expect(page.locator(".strip li").first).to_contain_text("2 bam")
    expect(page).to_have_url(first)


def test_plan_vote_and_numbers_are_asked_from_the_same_view(visit: Visit) -> None:
    page = visit.go()
    page.get_by_label("Rack", exact=True).fill(RACK)
    choose_card(page, "small")
    page.get_by_text("Other questions about this rack").click()
    page.get_by_role("button", name="Plan the next passes").click()
    plan = post(visit.server, "/v1/plans", rack=RACK, round="first_right", card="small", rounds=3)
    expect(page.locator(".plan li")).to_have_count(len(plan["rounds"]))
    for shown, planned in zip(page.locator(".plan li").all(), plan["rounds"], strict=True):
        assert planned["words"]["round"] in shown.inner_text()
        assert shown.locator(".tiles").inner_text().strip() == words_of(planned["pass"])
    page.get_by_role("button", name="Stop, or play the second").click()
    vote = post(visit.server, "/v1/votes", rack=RACK, card="small")
    expect(page.locator(".answer .in-words")).to_have_text(vote["words"]["verdict"])
    page.get_by_role("button", name="how many to give?").click()
    expect(page.locator(".notice.bad")).to_contain_text("choose one of them first")
    page.get_by_role("radio", name="Courtesy").check()
    page.get_by_role("button", name="how many to give?").click()
    expect(page.get_by_role("region", name="Each number")).to_be_visible()
    page.get_by_role("button", name="What does the pass give away?").click()
    given = advice(visit.server, round="courtesy", card="small", gives_away=True)["gives_away"]["words"]
    expect(page.locator(".verdict")).to_contain_text(given)


def test_every_limit_of_the_service_has_its_control(visit: Visit) -> None:
    page = visit.go()
    described = httpx2.get(f"{visit.server}/v1/limits", trust_env=False).json()
    page.get_by_text("Limits and what you know").click()
    page.get_by_text("Limits on the pass").click()
    values: dict[str, Any] = {"yes-no": True, "tiles": "4b", "at-least": {"count": 2, "reach": 0.03}}
    wanted = {}
    for limit in described["limits"]:
        control = page.get_by_label(limit["sentence"], exact=True)
        wanted[limit["name"]] = values[limit["sort"]]
        if limit["sort"] == "yes-no":
            control.check()
        elif limit["sort"] == "tiles":
            control.fill("4b")
        else:
            control.fill("2")
            page.locator(".pair", has=control).get_by_label("each with a chance of at least, %").fill("3")
    page.get_by_text("Hands that count").click()
    kinds = page.get_by_role("combobox", name="how it counts").evaluate_all(
        "all => all.map(e => e.ariaLabel)"
    )
    assert {f"{each['name']}: how it counts" for each in described["traits"]} <= set(kinds)
    with page.expect_request("**/v1/advice") as request:
        page.get_by_role("button", name="Ask what to pass").click()
    assert json.loads(request.value.post_data or "")["limits"] == wanted
    # A tile that must stay and go is a clash, or the rack is empty: told either way.
    expect(page.locator(".notice.bad")).to_be_visible()
    visit.expected_complaints("422")


def test_limits_reach_the_service_and_a_clash_is_told_in_place(visit: Visit) -> None:
    page = visit.go()
    card = httpx2.get(f"{visit.server}/v1/cards/full", trust_env=False).json()
    family, hand = card["families"][0], card["hands"][-1]["name"]
    page.get_by_label("Rack", exact=True).fill(RACK)
    page.get_by_text("Limits and what you know").click()
    page.get_by_text("Limits on the pass").click()
    page.get_by_label("must stay").fill("4b")
    page.get_by_label("Never pass two alike").check()
    page.get_by_text("Hands that count").click()
    page.get_by_label(f"{family}: how it counts").select_option("without")
    adding = page.get_by_label("Add a hand by its name")
    adding.fill("no such")
    adding.press("Enter")
    # It is told at once, and nothing is asked.
    expect(page.locator(".named .bad")).to_have_text("The card has no hand no such.")
    expect(page.locator(".answer")).to_have_count(0)
    adding.fill(hand.upper())
    adding.press("Enter")
    page.get_by_label(f"{hand}: weight").fill("2.5")
    page.get_by_text("Tiles to come").click()
    page.get_by_label("Seen elsewhere").fill("9b")
    ask(page)
    limits = {"stay": "4b", "no_pairs": True, "without": {"families": [family]}, "weights": {hand: 2.5}}
    answer = advice(visit.server, round="first_right", limits=limits, seen="9b")
    assert page.locator(".in-words").inner_text() == answer["words"]["pass"]
    proof = page.locator("[data-fact=proof]").inner_text()
    assert proof == answer["words"]["proof"]
    assert "within your limits" in proof
    everything_open(page)
    assert page.locator(".assumed li").all_inner_texts() == answer["assumptions"]["words"]

    page.get_by_label("must go").fill("4b")
    page.get_by_role("button", name="Ask what to pass").click()
    expect(page.locator(".notice.bad")).to_contain_text("limits contradict one another")
    expect(page.get_by_label("must stay")).to_have_attribute("aria-invalid", "true")
    expect(page.locator(".faults:visible").first).to_contain_text("4 bam must")
    visit.expected_complaints("422")


def test_every_fault_is_told_at_its_place_and_nothing_typed_is_lost(visit: Visit) -> None:
    page = visit.go()
    rack = page.get_by_label("Rack", exact=True)
    rack.fill("2b 4b 5x")
    rack.press("Enter")
    faults = page.locator(".rack-input .faults li")
    expect(faults).to_have_text(["column 7: '5x' is not a tile", "2 tiles: a rack has 13 or 14"])
    expect(rack).to_be_focused()
    expect(rack).to_have_value("2b 4b 5x")
    expect(rack).to_have_attribute("aria-invalid", "true")
    described = (rack.get_attribute("aria-describedby") or "").split()
    assert "is not a tile" in " ".join(page.locator(f"#{each}").inner_text() for each in described)
    visit.expected_complaints("422")


@pytest.mark.parametrize("own", [False, True], ids=["a card of the service", "a card of one's own"])
def test_a_question_is_shared_by_its_address(visiting: Callable[..., Visit], own: bool) -> None:
    visit = visiting()
    if own:
        own_card(visit, OWN_CARD.read_text(encoding="utf-8")).get_by_role(
            "button", name="Use this card"
        ).click()
    page = visit.page
    page.goto(f"{visit.server}/#/ask")
    page.get_by_label("Rack", exact=True).fill(RACK)
    page.get_by_role("radio", name="Across").first.check()
    page.get_by_text("Limits and what you know").click()
    page.get_by_text("Limits on the pass").click()
    page.get_by_label("Never pass a flower").check()
    ask(page)
    link = page.url
    expect(page.get_by_label("Link to this question")).to_have_value(link)
    first = page.locator(".answer").inner_text()

    other = visiting()
    other.page.goto(link)
    expect(other.page.locator(".answer")).to_have_text(first, use_inner_text=True)
    expect(other.page.get_by_label("Rack", exact=True)).to_have_value(RACK)
    expect(other.page.get_by_role("radio", name="Across").first).to_be_checked()
    expect(other.page.get_by_label("Never pass a flower")).to_be_checked()


def test_an_address_that_cannot_be_read_is_told(visit: Visit) -> None:
    page = visit.go("#/ask?rack=2b&more=%7B%22lim")
    expect(page.locator(".notice.bad")).to_contain_text("cannot be read")


def shared(card: str) -> str:
    """Return the address of a question with a card file, packed as the page packs it."""
    packing = zlib.compressobj(9, zlib.DEFLATED, -15)
    packed = base64.urlsafe_b64encode(packing.compress(card.encode()) + packing.flush()).decode().rstrip("=")
    return f"#/ask?rack={RACK.replace(' ', '+')}&file=a.toml&toml={packed}"


def test_a_short_link_to_a_card_without_end_is_not_unpacked(visit: Visit) -> None:
    link = shared(" " * 5_000_000)
    assert len(link) < 10_000
    expect(visit.go(link).locator(".notice.bad")).to_contain_text("cannot be read")


def test_a_link_that_may_take_long_asks_only_when_told_to(visit: Visit) -> None:
    page = visit.go(shared(OWN_CARD.read_text(encoding="utf-8") + "# a word\n" * 4_000))
    expect(page.locator(".view.ask .notices").last).to_contain_text("Ask when you like")
    expect(page.get_by_label("Rack", exact=True)).to_have_value(RACK)
    expect(page.locator(".answer")).to_have_count(0)
    ask(page)


def test_a_player_asks_about_a_rack_and_a_pass_of_her_own_whole_job_on_a_phone(
    visiting: Callable[..., Visit],
) -> None:
    """From an empty profile, by taps alone: the rack, her own pass, the answer to both."""
    visit = visiting(wide=360, high=740, has_touch=True, is_mobile=True)
    page = visit.go()
    taps = 0

    def tap(verb: str, tokens: str, within: str) -> None:
        nonlocal taps
        for token in tokens.split():
            named = page.locator(within).get_by_role("button", name=f"{verb} {Tile(token).word}")
            named.and_(page.locator(":not([aria-pressed=true])")).first.tap()
            taps += 1

    tap("Add", RACK, ".rack-input")
    page.get_by_text("And my own pass?").tap()
    tap("Pass", "2b 8d E", ".my-pass")
    page.get_by_role("button", name="Ask what to pass").tap()
    answer = advice(visit.server, round="first_right", mine="2b 8d E")
    expect(page.locator(".in-words")).to_have_text(answer["words"]["pass"])
    expect(page.locator(".mine-told")).to_contain_text(answer["mine"]["words"]["worth"])
    assert taps + 2 == 14 + 3 + 2


def test_an_answer_prints_on_one_page(visit: Visit) -> None:
    page = visit.go()
    page.get_by_label("Rack", exact=True).fill(RACK)
    ask(page)
    for paper in ("Letter", "A4"):
        assert len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=paper))) == 1
