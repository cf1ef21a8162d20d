"""Make the README's two screenshots: ``python -m tests.clients.web.screenshots http://127.0.0.1:8347``."""

import shutil
import sys
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from tests.clients.conftest import RACK, SEED
from tests.clients.web.conftest import ARGUMENTS

TOUR = Path(__file__).parents[3] / "clients" / "web" / "tour"
SIZE = {"width": 1120, "height": 760}


def main() -> None:
    """Visit a running server and photograph both views."""
    server = sys.argv[1].rstrip("/")
    TOUR.mkdir(exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=ARGUMENTS)
        _asked(_page(browser), server).screenshot(path=TOUR / "ask.png")
        _practiced(_page(browser), server).screenshot(path=TOUR / "practice.png")
        browser.close()


def _page(browser: Browser) -> Page:
    return browser.new_context(viewport=SIZE, color_scheme="light", reduced_motion="reduce").new_page()


def _asked(page: Page, server: str) -> Page:
    page.goto(f"{server}/#/ask?rack={RACK.replace(' ', '+')}&round=first_right&card=full")
    page.locator(".answer").wait_for()
    page.evaluate("window.scrollTo(0, 0)")
    return page


def _practiced(page: Page, server: str) -> Page:
    page.goto(f"{server}/#/practice")
    page.get_by_text("The same deal again").click()
    page.get_by_label("Seed").fill(str(SEED))
    page.get_by_role("button", name="Deal", exact=True).click()
    page.get_by_role("button", name="Start the clock").click()
    tiles = page.locator(".tile-button:not([data-token=J])")
    for passed in ((0, 2, 4), (1, 3, 5)):
        for at in passed:
            tiles.nth(at).click()
        page.locator(".controls .primary").click()
    page.get_by_role("button", name="One more blind").click()
    tiles.nth(0).click()
    tiles.nth(3).click()
    return page


if __name__ == "__main__":
    main()
