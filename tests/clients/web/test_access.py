"""Each screen held against WCAG by axe-core, in both themes, and at six sizes what axe cannot see."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from patterns.tiles import KINDS
from tests.clients.conftest import RACK
from tests.clients.web.conftest import Lap, Visit, everything_open, own_card

RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    # Of what is right axe then tells one place a rule, which saves it most of its time.
    "resultTypes": ["violations"],
}
FAULTY = '[card]\nname = "Mine"\n\n[[hand]]\nname = "A"\nfamily = "shelves"\ngroups = "north*4"\n'


# How high the word is on each tile that is shown, in pixels, but for those that have none.
WORDS = """[...document.querySelectorAll('svg.tile')]
  .filter((tile) => getComputedStyle(tile).getPropertyValue('--tile-worded') !== 'none')
  .map((tile) => tile.getBoundingClientRect().width * 17 / 60).filter(Boolean)"""


def hold_at_size(page: Page, wide: int, high: int) -> None:
    """Nothing is wider than the page, and words on tiles can be read."""
    page.set_viewport_size({"width": wide, "height": high})
    page_is_wide = "document.documentElement.scrollWidth > document.documentElement.clientWidth"
    assert not page.evaluate(page_is_wide)
    if wide >= 360:
        assert min(page.evaluate(WORDS), default=10) >= 10


def hold_against_rules(page: Page) -> None:
    """Hold a screen against its sizes, and in either theme, at the last of three sizes, against the rules."""
    page.emulate_media(color_scheme="dark")
    for wide, high in ((1920, 900), (360, 900), (740, 360)):
        hold_at_size(page, wide, high)
    hold_against_axe(page)
    page.emulate_media(color_scheme="light")
    for wide, high in ((1280, 900), (768, 1024), (320, 900)):
        hold_at_size(page, wide, high)
    hold_against_axe(page)


def hold_against_axe(page: Page) -> None:
    found = Axe().run(page, options=RULES)
    assert found.violations_count == 0, found.generate_report()
    assert found.response["passes"], "nothing was checked"


@pytest.mark.long
def test_every_screen_fits_and_breaks_no_rule(visit: Visit) -> None:
    page = visit.go()
    everything_open(page)
    page.get_by_label("Rack", exact=True).fill(RACK)
    page.get_by_role("radio", name="Left").first.check()
    page.get_by_role("button", name="Ask what to pass").click()
    expect(page.locator(".answer")).to_be_visible()
    hold_against_rules(page)
    page.get_by_label("Rack", exact=True).fill("2b 5x")
    page.get_by_role("button", name="Ask what to pass").click()
    expect(page.locator(".notice.bad")).to_be_visible()
    hold_against_rules(page)
    visit.expected_complaints("422")

    page.goto(f"{visit.server}/#/cards")
    hands = page.get_by_role("button", name="See the hands of Orchard")
    expect(hands).to_be_visible()
    hold_against_rules(page)
    hands.click()
    expect(page.locator(".drawn-hand").first).to_be_visible()
    hold_against_rules(page)
    own_card(visit, FAULTY)
    page.get_by_role("button", name="Change A").click()
    everything_open(page)
    hold_against_rules(page)

    page.goto(f"{visit.server}/#/review")
    page.get_by_role("button", name="Type it").click()
    page.get_by_label("A line a pass").fill(f"rack: {RACK}\nrigth: 1d E W > ?")
    expect(page.locator(".entry > .faults li")).to_have_count(2)
    hold_against_rules(page)
    page.get_by_label("A line a pass").fill(f"rack: {RACK}\nright: 1d E W > ?")
    page.get_by_role("button", name="Tap it in").click()
    expect(page.locator(".open-pass")).to_be_visible()
    hold_against_rules(page)
    page.get_by_role("button", name="Grade it").click()
    expect(page.locator(".graded")).to_be_visible()
    hold_against_rules(page)

    page.goto(f"{visit.server}/#/sheets")
    page.get_by_label("How many").fill("1")
    page.get_by_role("button", name="Make the sheet").click()
    page.get_by_role("button", name="Show the key").click()
    page.get_by_role("button", name="Type another rack for 1").click()
    everything_open(page)
    hold_against_rules(page)

    lap = Lap(visit, rounds=1).start()
    lap.choose(3)
    hold_against_rules(page)
    page.get_by_role("button", name="Pause").click()
    hold_against_rules(page)
    page.get_by_role("button", name="Go on").click()
    lap.send()
    expect(page.locator(".graded-lap .review")).to_be_visible()
    everything_open(page)
    hold_against_rules(page)
    page.get_by_role("button", name="Other settings").click()
    everything_open(page)
    hold_against_rules(page)


def test_the_theme_is_chosen_and_kept(visit: Visit) -> None:
    page = visit.go()
    ground = "getComputedStyle(document.body).backgroundColor"
    light = page.evaluate(ground)
    page.get_by_label("Theme").select_option("dark")
    dark = page.evaluate(ground)
    assert dark != light
    page.reload()
    assert page.evaluate(ground) == dark
    expect(page.get_by_label("Theme")).to_have_value("dark")
    page.get_by_label("Theme").select_option("")
    assert page.evaluate(ground) == light


def test_every_tile_says_what_it_is_without_color(visit: Visit) -> None:
    page = visit.go()
    told = page.locator(".picker .kind").evaluate_all(
        "all => all.map(el => [el.ariaLabel, el.querySelector('use').getAttribute('href')])"
    )
    assert told == [[f"Add {tile.word}", f"tiles.svg#{tile.value}"] for tile in KINDS]
    # One ink for all: no shape has a color of its own.
    inks = page.locator(".picker .tile").evaluate_all("all => all.map(each => getComputedStyle(each).color)")
    assert len(set(inks)) == 1


def test_the_focus_can_be_seen_and_the_way_in_is_short(visit: Visit) -> None:
    page = visit.go()
    page.keyboard.press("Tab")
    expect(page.get_by_text("Skip to the page")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_be_focused()
    page.keyboard.press("Tab")
    expect(page.get_by_label("Rack", exact=True)).to_be_focused()
    outline = page.get_by_label("Rack", exact=True).evaluate("el => getComputedStyle(el).outlineStyle")
    assert outline != "none"
