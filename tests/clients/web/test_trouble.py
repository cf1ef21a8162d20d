"""The server gone or busy: a message each, nothing lost, and the work goes on once it is back."""

import json
import re
from urllib.parse import quote

import pytest
from playwright.sync_api import expect

from tests.clients.conftest import RACK
from tests.clients.web.conftest import Lap, Visit, post, words_of

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
    expect(rack).to_have_value(RACK)
    mend()
    page.get_by_role("button", name="Try again").click()
    expect(page.locator(".answer")).to_be_visible()
    visit.expected_complaints("ERR_CONNECTION_REFUSED")


def test_a_busy_server_is_asked_again_a_few_times_by_itself(visit: Visit) -> None:
    page = visit.go()
    page.get_by_label("Rack", exact=True).fill(RACK)
    mend = visit.failing(status=503, body=BUSY)
    notices = page.locator(".question > .notices")
    page.get_by_role("button", name="Ask what to pass").click()
    expect(notices).to_contain_text("The server is busy; trying again in 1 s")
    expect(page.locator(".notice.bad")).to_contain_text("The server is busy.")
    page.get_by_role("button", name="Try again").click()
    expect(notices).to_contain_text("trying again")
    mend()
    answer = post(visit.server, "/v1/advice", rack=RACK, round="first_right")
    expect(page.locator(".in-words")).to_have_text(words_of(answer["pass"]))
    visit.expected_complaints("503")


def test_a_lap_is_finished_and_graded_later_when_the_server_goes_away(visit: Visit) -> None:
    lap = Lap(visit, rounds=2).start()
    page = lap.page
    mend = visit.failing()
    for _ in range(2):
        lap.pass_three()
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
    assert line["result"]["strength_given_up"] == graded["given_up"]
    visit.expected_complaints("ERR_CONNECTION_REFUSED")


def test_a_browser_that_keeps_nothing_says_so(visit: Visit) -> None:
    page = visit.page
    page.add_init_script(
        "Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); }"
    )
    lap = Lap(visit, rounds=1).start()
    expect(page.locator(".notice.bad").first).to_contain_text("The browser does not keep this lap")
    lap.pass_three()
    expect(page.locator(".graded-lap")).to_contain_text("The browser would not keep this lap")
    with page.expect_download() as download:
        page.get_by_role("button", name="Export the log").click()
    exported = json.loads(download.value.path().read_text(encoding="utf-8"))
    assert exported["client"] == "web"
    assert exported["finished"] is True


@pytest.mark.parametrize("kept", ["{", '{"lap": {"rounds": 3}}'])
def test_what_cannot_be_gone_on_with_is_no_hindrance(visit: Visit, kept: str) -> None:
    visit.page.add_init_script(f"localStorage.setItem('threepass.lap', {json.dumps(kept)})")
    page = visit.go("#/practice")
    expect(page.get_by_role("heading", name="A new lap")).to_be_visible()


def test_limits_of_a_link_are_kept_while_the_server_has_not_said_which_there_are(visit: Visit) -> None:
    visit.page.route("**/v1/limits", lambda route: route.abort("connectionrefused"))
    page = visit.go(f"#/ask?rack={quote(RACK)}&more=" + quote('{"limits":{"no_pairs":true}}'))
    answer = post(visit.server, "/v1/advice", rack=RACK, round="first_right", limits={"no_pairs": True})
    expect(page.locator(".in-words")).to_have_text(words_of(answer["pass"]))
    expect(page).to_have_url(re.compile("no_pairs"))
    visit.page.unroute("**/v1/limits")
    # The next question finds the server back, and the limit its control.
    page.get_by_role("button", name="Ask what to pass").click()
    expect(page.get_by_label("Never pass two alike")).to_be_checked()
    visit.expected_complaints("ERR_CONNECTION_REFUSED")
