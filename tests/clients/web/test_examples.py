"""The example for pages of other origins, in a browser."""

from functools import partial
from http.server import SimpleHTTPRequestHandler
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect
from threepass import Client

from tests.clients.cli.test_service import listening
from tests.clients.conftest import RACK
from tests.clients.web.conftest import PATIENCE_MS

EXAMPLES = Path(__file__).parents[3] / "clients/python/examples"


class Quiet(SimpleHTTPRequestHandler):
    def log_message(self, *_: object) -> None:
        pass


@pytest.mark.parametrize("named", [True, False])
def test_a_page_of_another_origin_asks_if_it_is_named(
    browser: Browser, monkeypatch: pytest.MonkeyPatch, named: bool
) -> None:
    with listening(partial(Quiet, directory=EXAMPLES)) as origin, browser.new_context() as context:
        if named:
            monkeypatch.setenv("THREEPASS_ORIGINS", origin)
        with Client.local() as client:
            advised = client.advice(RACK, "first_right").words["pass"]
            faults = "#/rack: column 1: '3x' is not a tile"
            page = context.new_page()
            page.goto(f"{origin}/ask.html")
            page.get_by_label("Service").fill(client.server)
            for rack, shown in ((RACK, f"Pass {advised}"), ("3x", faults)):
                page.get_by_label("Rack").fill(rack)
                page.get_by_role("button", name="Ask").click()
                shows = shown if named else "Failed to fetch"
                expect(page.locator("output")).to_contain_text(shows, timeout=PATIENCE_MS)
