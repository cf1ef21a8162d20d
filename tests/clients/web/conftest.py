import json
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx2
import pytest
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect, sync_playwright

from patterns.tiles import Tile
from tests.clients.conftest import SEED

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
expect.set_options(timeout=PATIENCE_MS)


def post(server: str, path: str, **body: object) -> dict[str, Any]:
    """Return the service's own answer, to hold the page against."""
    reply = httpx2.post(f"{server}{path}", json=body, trust_env=False, timeout=60)
    assert reply.status_code == 200, reply.text
    answer: dict[str, Any] = reply.json()
    return answer


def words_of(tokens: list[str]) -> str:
    return ", ".join(Tile(token).word for token in tokens)


def tiles_in(place: Locator, name: str = "use") -> list[str]:
    """Return the tokens of the tiles that are drawn in a place, or as data of buttons and the like."""
    drawn, data = "e.getAttribute('href').slice(10)", "e.dataset.token"
    tokens: list[str] = place.locator(name).evaluate_all(
        f"all => all.map(e => {drawn if name == 'use' else data})"
    )
    return tokens


def everything_open(page: Page) -> None:
    """Fold out all of the view that is shown."""
    page.locator(".view:not([hidden]) details").evaluate_all("all => all.forEach(each => each.open = true)")


def imported(visit: "Visit", folder: Path, *lines: dict[str, Any]) -> Page:
    """Open the view for practice and let it take a log of these lines."""
    file = folder / "practice.jsonl"
    file.write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    page = visit.page if "#/practice" in visit.page.url else visit.go("#/practice")
    page.get_by_label("Log file to import").set_input_files(file)
    return page


def ask(page: Page) -> None:
    """Ask, and wait until the answer stands and is told: the link and the address come just before that."""
    page.get_by_role("button", name="Ask what to pass").click()
    expect(page.locator(".notices").get_by_text("Answered: pass")).to_be_attached()
    expect(page.locator(".answer")).to_be_visible()


def choose_card(page: Page, name: str) -> None:
    page.locator(".view:not([hidden])").get_by_label("Card", exact=True).select_option(name)


def own_card(visit: "Visit", toml: str) -> Page:
    page = visit.go("#/cards")
    file = {"name": "mine.toml", "mimeType": "text/plain", "buffer": toml.encode()}
    page.get_by_label("Open a card file").set_input_files(file)
    expect(page.locator(".standing, .card-faults > li").first).to_be_visible()
    return page


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


class Lap:
    """A lap of practice in the page, step by step."""

    def __init__(self, visit: Visit, rounds: int = 3, courtesy: bool = False) -> None:
        """Go to the view and have a lap dealt, its clock not yet started."""
        self.page = page = visit.go("#/practice")
        page.get_by_label("Rounds").select_option(str(rounds))
        page.get_by_label("A courtesy pass at the end").set_checked(courtesy)
        page.get_by_text("The same deal again").click()
        page.get_by_label("Seed").fill(str(SEED))
        page.get_by_role("button", name="Deal", exact=True).click()
        expect(page.get_by_role("button", name="Start the clock")).to_be_focused()
        wish = {"seed": SEED, "drill": {"exchanges_left": rounds + courtesy}, "heap": True, "card": "full"}
        # What must have been dealt, from the service itself.
        self.deal: dict[str, Any] = post(visit.server, "/v1/deals", **wish)["deals"][0]

    def start(self) -> "Lap":
        self.page.get_by_role("button", name="Start the clock").click()
        return self

    @property
    def rack(self) -> list[str]:
        return tiles_in(self.page.locator("body"), ".tile-button")

    @property
    def chosen(self) -> list[str]:
        return tiles_in(self.page.locator("body"), ".tile-button[aria-pressed=true]")

    def choose(self, count: int) -> list[str]:
        """Tap so many tiles, none a joker, and return them."""
        tiles = self.page.locator(".tile-button:not([data-token=J])")
        for at in range(count):
            tiles.nth(at).click()
        assert len(self.chosen) == count
        return self.chosen

    def send(self) -> None:
        self.page.locator(".controls .primary").click()

    def pass_three(self) -> list[str]:
        chosen = self.choose(3)
        self.send()
        return chosen

    def play_out(self, rounds: int) -> None:
        """Pass three in each round, and wait for the review."""
        for _ in range(rounds):
            self.pass_three()
        expect(self.page.locator(".graded-lap .review")).to_be_visible()
