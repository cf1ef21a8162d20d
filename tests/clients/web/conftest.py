import os
import shutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
# No wait of these tests is for a set time; this only ends a test that hangs.
PATIENCE_MS = 30_000


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium, or a skip where there is none; with THREEPASS_BROWSER=required a failure."""
    path = shutil.which("chromium")
    if path is None:
        says = "no chromium here: install it to try the web page in a real browser"
        if os.environ.get("THREEPASS_BROWSER") == "required":
            pytest.fail(says)
        pytest.skip(says)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


class Visit:
    """A page in a browser of its own, and what it did."""

    def __init__(self, context: BrowserContext, server: str) -> None:
        self.context = context
        self.server = server
        self.asked: list[str] = []
        self.complaints: list[str] = []
        context.on("request", lambda request: self.asked.append(request.url))
        context.set_default_timeout(PATIENCE_MS)
        self.page = self.new_page()

    def new_page(self) -> Page:
        page = self.context.new_page()
        page.on("console", lambda said: self._console(said.type, said.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        return page

    def _console(self, kind: str, text: str) -> None:
        if kind in ("error", "warning"):
            self.complaints.append(text)

    def go(self, fragment: str = "") -> Page:
        self.page.goto(f"{self.server}/{fragment}")
        return self.page

    def failing(self, *, status: int | None = None, body: str = "", after: int = 0) -> Callable[[], None]:
        """Let requests to the API fail, as when the server is gone or busy; return what mends it."""
        passed = 0

        def handle(route: Any) -> None:
            nonlocal passed
            if passed < after:
                passed += 1
                route.continue_()
            elif status is None:
                route.abort("connectionrefused")
            else:
                headers = {"content-type": "application/problem+json", "retry-after": "1"}
                route.fulfill(status=status, headers=headers, body=body)

        self.page.route("**/v1/**", handle)
        return lambda: self.page.unroute("**/v1/**", handle)

    def expected_complaints(self, part: str) -> None:
        """Take off the browser's own lines about requests that were meant to fail."""
        assert any(part in line for line in self.complaints)
        self.complaints = [line for line in self.complaints if part not in line]


@pytest.fixture
def visiting(browser: Browser, server: str) -> Iterator[Callable[..., Visit]]:
    """Open the page in fresh contexts; in no test anything leaves the host, or complains."""
    visits: list[Visit] = []

    def visit(wide: int = 1280, high: int = 900, theme: Any = "light", **options: Any) -> Visit:
        size = {"width": wide, "height": high}
        context = browser.new_context(viewport=size, color_scheme=theme, reduced_motion="reduce", **options)
        visits.append(Visit(context, server))
        return visits[-1]

    yield visit
    for each in visits:
        each.context.close()
    for each in visits:
        outside = [url for url in each.asked if not url.startswith((f"{server}/", f"blob:{server}/"))]
        assert outside == []
        assert each.complaints == []


@pytest.fixture
def visit(visiting: Callable[..., Visit]) -> Visit:
    return visiting()
