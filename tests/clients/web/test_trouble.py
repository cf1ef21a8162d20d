"""The server gone or busy: a message each, nothing lost, and the work goes on once it is back."""

import json

import pytest
from playwright.sync_api import expect

from clients.cli.render.words import all_in_words
from tests.clients.web.asking import post
from tests.clients.web.conftest import Visit
from tests.clients.web.practising import begun, choose, send

RACK = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"
BUSY = json.dumps(
    {
        "type": "urn:threepass:problem:busy",
        "title": "The server is busy",
        "status": 503,
        "detail": "too many requests at the moment: try again shortly",
        "request_id": "1",
        "errors": [],
    }
)


def test_asking_while_the_server_is_gone(visit: Visit) -> None:
    page = visit.go()
    rack = page.get_by_label("Rack", exact=True)
    rack.fill(RACK)
    mend = visit.failing()
    page.get_by_role("button", name="Ask what to pass").click()
    notice = page.locator(".notice.bad")
    expect(notice).to_contain_text("The server does not answer.")
    expect(notice).to_contain_text("Nothing you entered is lost.")
    assert rack.input_value() == RACK
    mend()
    page.get_by_role("button", name="Try again").click()
    expect(page.locator(".answer")).to_be_visible()
    visit.expected_complaints("ERR_CONNECTION_REFUSED")


def test_asking_while_the_server_is_busy(visit: Visit) -> None:
    page = visit.go()
    page.get_by_label("Rack", exact=True).fill(RACK)
    mend = visit.failing(status=503, body=BUSY)
    page.get_by_role("button", name="Ask what to pass").click()
    expect(page.locator(".question > .notices")).to_contain_text("The server is busy; trying again in 1 s")
    expect(page.locator(".notice.bad")).to_contain_text("The server is busy.")
    mend()
    page.get_by_role("button", name="Try again").click()
    answer = post(visit.server, "/v1/advice", rack=RACK, round="first_right")
    expect(page.locator(".in-words")).to_have_text(all_in_words(answer["pass"]))
    visit.expected_complaints("503")


def test_a_server_that_is_busy_once_is_asked_again_by_itself(visit: Visit) -> None:
    page = visit.go()
    page.get_by_label("Rack", exact=True).fill(RACK)
    mend = visit.failing(status=503, body=BUSY)
    page.get_by_role("button", name="Ask what to pass").click()
    expect(page.locator(".question > .notices")).to_contain_text("trying again")
    mend()
    expect(page.locator(".answer")).to_be_visible()
    visit.expected_complaints("503")


@pytest.mark.parametrize("body", ["<h1>It works</h1>", '{"detail": "Not Found"}'])
def test_another_program_at_this_address_is_told(visit: Visit, body: str) -> None:
    page = visit.go()
    page.get_by_label("Rack", exact=True).fill(RACK)
    mend = visit.failing(status=404, body=body)
    page.get_by_role("button", name="Ask what to pass").click()
    expect(page.locator(".notice.bad")).to_contain_text("The answer (status 404) is not one of threepass.")
    mend()
    visit.expected_complaints("404")


def test_an_answer_of_another_shape_is_told(visit: Visit) -> None:
    page = visit.go()
    page.get_by_label("Rack", exact=True).fill(RACK)
    mend = visit.failing(status=200, body='{"pass": "4b"}')
    page.get_by_role("button", name="Ask what to pass").click()
    expect(page.locator(".notice.bad")).to_contain_text("The answer is not one of threepass.")
    mend()


def test_a_lap_is_finished_and_graded_later_when_the_server_goes_away(visit: Visit) -> None:
    page = begun(visit, rounds=2)
    mend = visit.failing()
    for _ in range(2):
        choose(page, 3)
        send(page)
    expect(page.locator(".graded-lap")).to_contain_text("The server does not answer.")
    expect(page.locator(".graded-lap")).to_contain_text("The lap is in the log.")
    line = json.loads(str(page.evaluate("localStorage.getItem('threepass.log')")))
    assert (line["finished"], line["result"]) == (True, None)
    expect(page.locator(".history")).to_contain_text("1 lap without a review")
    # The page may even be left: the lap is graded from the table.
    mend()
    page.reload()
    page.get_by_role("button", name="Grade now: the lap of").click()
    expect(page.locator(".graded")).to_have_count(2)
    line = json.loads(str(page.evaluate("localStorage.getItem('threepass.log')")))
    graded = post(visit.server, "/v1/reviews", records=[line["record"]])["reviews"][0]
    assert line["result"]["given_up"] == graded["given_up"]
    visit.expected_complaints("ERR_CONNECTION_REFUSED")


def test_a_deal_is_asked_again_once_the_server_is_back(visit: Visit) -> None:
    page = visit.go("#/practise")
    mend = visit.failing()
    page.get_by_role("button", name="Deal", exact=True).click()
    expect(page.locator(".notice.bad")).to_contain_text("The server does not answer.")
    mend()
    page.get_by_role("button", name="Try again").click()
    expect(page.get_by_role("button", name="Start the clock")).to_be_visible()
    visit.expected_complaints("ERR_CONNECTION_REFUSED")


def test_a_browser_that_keeps_nothing_says_so(visit: Visit) -> None:
    page = visit.page
    page.add_init_script(
        "Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); }"
    )
    begun(visit, rounds=1)
    expect(page.locator(".notice.bad").first).to_contain_text("The browser does not keep this lap")
    choose(page, 3)
    send(page)
    expect(page.locator(".graded-lap")).to_contain_text("The browser would not keep this lap")
    with page.expect_download() as download:
        page.get_by_role("button", name="Export the log").click()
    exported = json.loads(download.value.path().read_text(encoding="utf-8"))
    assert exported["client"] == "web"
    assert exported["finished"] is True


@pytest.mark.parametrize("kept", ["{", "null", '{"lap": {}}', '{"lap": {"rounds": 3}}', "[]"])
def test_what_cannot_be_gone_on_with_is_no_hindrance(visit: Visit, kept: str) -> None:
    visit.page.add_init_script(f"localStorage.setItem('threepass.lap', {json.dumps(kept)})")
    page = visit.go("#/practise")
    expect(page.get_by_role("heading", name="A new lap")).to_be_visible()


def test_a_faulty_card_is_told_before_a_lap(visit: Visit) -> None:
    page = visit.go("#/practise")
    setup = page.locator("form.setup")
    setup.get_by_label("Card", exact=True).select_option(label="A card file of my own…")
    setup.get_by_label("Text of the card").fill('[card]\nname = "Pier"\n\n[[hand]]\nname = "A"\n')
    page.get_by_role("button", name="Deal", exact=True).click()
    expect(page.locator(".practise > .notices li").first).to_contain_text("card.toml, line 4, family")
    visit.expected_complaints("422")


def test_an_address_with_members_of_another_shape_is_told(visit: Visit) -> None:
    page = visit.go("#/ask?rack=2b&more=%7B%22limits%22%3A%7B%22only%22%3A%7B%22hands%22%3A7%7D%7D%7D")
    expect(page.locator(".notice.bad")).to_contain_text("cannot be read")
