"""Review: a Charleston from paper, tapped or typed in, checked as it grows, graded in the service's words."""

import json
from collections.abc import Callable

from playwright.sync_api import Page, expect

from patterns.tiles import Tile
from tests.clients.test_readme import block
from tests.clients.web.conftest import Visit, post, tiles_in

RACK = "4b 4b 4b 5b 3c 5c 3d 8d 9d N N E white F"
PASSES = [("3c 3d E", "1b 9b 3b"), ("8d 9d white", "N 8b 5b"), ("8b 9b", None)]
RECORD = {
    "card": "full",
    "rack": RACK,
    "exchanges": [
        {"round": round_, "given": given, "received": came, "blind": blind}
        for (given, came), round_, blind in zip(
            PASSES, ("first_right", "first_across", "first_left"), (0, 0, 1), strict=True
        )
    ],
}


class Thumb:
    def __init__(self, page: Page) -> None:
        self.page = page
        self.taps = 0

    def tap(self, name: str, within: str = ".view:not([hidden])") -> None:
        button = self.page.locator(within).get_by_role("button", name=name, exact=True)
        button.locator("visible=true").first.tap()
        self.taps += 1

    def tiles(self, verb: str, tokens: str, within: str) -> None:
        for token in tokens.split():
            shown = self.page.locator(within).get_by_role("button", name=f"{verb} {Tile(token).word}")
            shown.and_(self.page.locator(":not([aria-pressed=true])")).first.tap()
            self.taps += 1


def test_yesterdays_charleston_from_paper_whole_job_on_a_phone(visiting: Callable[..., Visit]) -> None:
    """From an empty profile: the rack, three passes, the last blind and its tiles unknown, the review."""
    visit = visiting(wide=360, high=740, has_touch=True, is_mobile=True)
    page = visit.go()
    thumb = Thumb(page)
    page.get_by_role("link", name="Review").tap()
    thumb.taps += 1
    thumb.tiles("Add", RACK, ".reviews .rack-input")
    for number, (given, came) in enumerate(PASSES):
        thumb.tap("+ Next pass" if number else "+ The first pass")
        thumb.tiles("Pass", given, ".open-pass")
        if came is None:
            thumb.tap("1 blind")
        else:
            thumb.tiles("Add", came, ".open-pass")
    thumb.tap("Grade it")
    review = post(visit.server, "/v1/reviews", records=[RECORD])["reviews"][0]
    expect(page.locator(".graded")).to_have_count(3)
    for shown, graded in zip(page.locator(".graded").all(), review["passes"], strict=True):
        assert shown.locator("p").first.inner_text() == graded["why"]
        marks = shown.locator(".marked li").evaluate_all(
            "all => all.map(e => [e.querySelector('use').getAttribute('href').slice(10), e.className])"
        )
        assert [token for token, _ in marks] == graded["rack"]
        assert [t for t, mark in marks if mark in ("yours", "both")] == graded["given"]
        assert [t for t, mark in marks if mark in ("best", "both")] == graded["best"]["pass"]
    assert review["words"]["end"] in page.locator(".review").inner_text()
    # A rack is fourteen taps, a pass three and three and one to begin it.
    assert thumb.taps == 2 + 14 + 7 + 7 + 4

    # From each pass one may ask.
    page.locator(".graded").nth(1).get_by_role("link", name="Ask about this pass").tap()
    expect(page.locator(".in-words")).to_have_text(review["passes"][1]["words"]["best"])
    assert tiles_in(page.locator(".strip:visible")) == review["passes"][1]["rack"]


def test_what_is_typed_is_what_the_terminal_reads_with_each_fault_on_its_line(visit: Visit) -> None:
    page = visit.go("#/review")
    page.get_by_role("button", name="Type it").click()
    text = page.get_by_label("A line a pass")
    example = block("record example")
    text.fill(example.replace("across:", "acros:").replace("3c 3d E", "3c 3d J"))
    faults = page.locator(".entry > .faults li")
    expect(faults.first).to_contain_text("line 3: 'acros' is none of")
    expect(faults.filter(has_text="line 2, given: a joker may never be passed")).to_have_count(1)
    text.fill(example)
    expect(faults).to_have_count(0)
    # Tapping goes on where typing ended.
    page.get_by_role("button", name="Tap it in").click()
    expect(page.locator(".closed-pass strong")).to_have_text(["As dealt", "First right", "First across"])
    expect(page.locator(".open-pass").get_by_label("Time")).to_have_value("0:26.5")
    page.get_by_role("button", name="Type it").click()
    expect(text).to_have_value(
        example.replace("right:", "first right:")
        .replace("across:", "first across:")
        .replace("left:", "first left:")
        + "\n"
    )
    page.get_by_role("button", name="Grade it").click()
    expect(page.locator(".graded")).to_have_count(3)
    expect(page.locator(".review")).to_contain_text("1:52.0 in all")


def test_what_was_just_typed_is_not_lost_on_the_way_to_tapping(visit: Visit) -> None:
    page = visit.go("#/review")
    page.get_by_role("button", name="Type it").click()
    page.get_by_label("A line a pass").fill(block("record example"))
    page.route("**/v1/records/check", lambda route: route.abort())
    page.get_by_role("button", name="Tap it in").click()
    expect(page.locator(".notice.bad")).to_be_visible()
    expect(page.get_by_label("A line a pass")).to_have_value(block("record example"))
    page.unroute("**/v1/records/check")

    # An answer so slow that the page's own check begins before it comes.
    page.route("**/v1/records/check", lambda route: (page.wait_for_timeout(700), route.continue_()))
    page.get_by_label("A line a pass").fill(block("record example") + "\n")
    page.get_by_role("button", name="Tap it in").click()
    expect(page.locator(".open-pass")).to_be_visible()
    page.unroute_all(behavior="wait")
    visit.expected_complaints("ERR_FAILED")


def test_faults_stand_at_their_pass_and_unfinished_entries_are_kept(visit: Visit) -> None:
    page = visit.go("#/review")
    page.get_by_label("Rack as dealt", exact=True).fill(RACK)
    page.get_by_role("button", name="+ The first pass").click()
    thumb = page.locator(".open-pass")
    for token in ("3c", "3d", "E"):
        thumb.get_by_role("button", name=f"Pass {Tile(token).word}").click()
    for token in ("4b", "4b", "1b"):
        thumb.get_by_role("button", name=f"Add {Tile(token).word}").first.click(force=True)
    # The set has no fifth: the second tap did nothing.
    expect(thumb.get_by_role("button", name="Take off")).to_have_count(2)
    thumb.get_by_role("button", name="Add 9 bam").click()
    page.get_by_label("Round", exact=True).select_option("first_across")
    expect(thumb.locator(".faults").last).to_contain_text("only first right can be played")
    page.reload()
    expect(thumb.get_by_role("button", name="Take off")).to_have_count(3)
    expect(page.locator(".closed-pass strong")).to_have_text(["As dealt"])
    kept = json.loads(str(page.evaluate("localStorage.getItem('threepass.record')")))
    assert kept["passes"][0]["received"] == ["4b", "1b", "9b"]
    page.once("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name="Begin anew").click()
    expect(page.get_by_label("Rack as dealt", exact=True)).to_have_value("")
