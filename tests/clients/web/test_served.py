"""The real server serves the page; no browser is needed to see that."""

import httpx2

from clients.cli.serve import PAGES


def test_the_page_is_at_the_root(server: str) -> None:
    answer = httpx2.get(f"{server}/", trust_env=False)
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    assert answer.text == (PAGES / "index.html").read_text(encoding="utf-8")
