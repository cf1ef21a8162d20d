"""Make the README's two screenshots: ``python -m tests.clients.web.screenshots http://127.0.0.1:8347``."""

import shutil
import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

from tests.clients.conftest import RACK
from tests.clients.web.conftest import ARGUMENTS, Lap, Visit

TOUR = Path(__file__).parents[3] / "clients" / "web" / "tour"


def main() -> None:
    server = sys.argv[1].rstrip("/")
    TOUR.mkdir(exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=ARGUMENTS)

        def visit() -> Visit:
            size = {"width": 1120, "height": 760}
            return Visit(
                browser.new_context(viewport=size, color_scheme="light", reduced_motion="reduce"), server
            )

        page = visit().go(f"#/ask?rack={RACK.replace(' ', '+')}&round=first_right&card=full")
        page.locator(".answer").wait_for()
        page.evaluate("window.scrollTo(0, 0)")
        page.screenshot(path=TOUR / "ask.png")
        lap = Lap(visit()).start()
        tiles = lap.page.locator(".tile-button:not([data-token=J])")
        for passed in ((0, 2, 4), (1, 3, 5)):
            for at in passed:
                tiles.nth(at).click()
            lap.send()
        lap.page.get_by_role("button", name="One more blind").click()
        for at in (0, 3):
            tiles.nth(at).click()
        lap.page.screenshot(path=TOUR / "practice.png")
        browser.close()


if __name__ == "__main__":
    main()
