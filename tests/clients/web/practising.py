"""Practice in the page, step by step, and the tiles that must then be on the rack."""

from collections import Counter
from typing import Any

from playwright.sync_api import Page, expect

from tests.clients.web.asking import post
from tests.clients.web.conftest import Visit

SEED = 11


def deal_of(server: str, rounds: int, seed: int = SEED) -> dict[str, Any]:
    """Return the deal that the page must deal, from the service itself."""
    wish = {"seed": seed, "drill": {"exchanges_left": rounds}, "heap": True, "card": "full"}
    found: dict[str, Any] = post(server, "/v1/deals", **wish)["deals"][0]
    return found


def dealt(visit: Visit, rounds: int = 3, courtesy: bool = False) -> Page:
    """Go to the view and have a lap dealt."""
    page = visit.go("#/practise")
    page.get_by_label("Rounds").select_option(str(rounds))
    page.get_by_label("A courtesy pass at the end").set_checked(courtesy)
    page.get_by_text("The same deal again").click()
    page.get_by_label("Seed").fill(str(SEED))
    page.get_by_role("button", name="Deal", exact=True).click()
    expect(page.get_by_role("button", name="Start the clock")).to_be_focused()
    return page


def begun(visit: Visit, rounds: int = 3, courtesy: bool = False) -> Page:
    """The same, and start the clock."""
    page = dealt(visit, rounds, courtesy)
    page.get_by_role("button", name="Start the clock").click()
    return page


def rack_of(page: Page) -> list[str]:
    """Return the tokens on the rack, as shown."""
    shown = page.locator(".tile-button").evaluate_all("all => all.map(each => each.dataset.token)")
    return [str(token) for token in shown]


def choose(page: Page, count: int) -> list[str]:
    """Tap so many tiles, none a joker, and return them."""
    tiles = page.locator(".tile-button:not([data-token=J])")
    for at in range(count):
        tiles.nth(at).click()
    chosen = page.locator(".tile-button[aria-pressed=true]").evaluate_all("a => a.map(e => e.dataset.token)")
    assert len(chosen) == count
    return [str(token) for token in chosen]


def send(page: Page) -> None:
    """Pass what is chosen."""
    page.locator(".controls .primary").click()


def after(rack: list[str], given: list[str], received: list[str]) -> Counter[str]:
    """Return the tiles that must be on the rack after an exchange."""
    return Counter(rack) - Counter(given) + Counter(received)
