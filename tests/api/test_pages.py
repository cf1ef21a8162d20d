"""The web page's files beside the API: what is served, how, and that the API stays as it is."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from api.app import create_app
from api.server import serve
from api.settings import Settings

WEB = Path(__file__).parents[2] / "clients" / "web"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A small page, with files beside it that are nobody's business."""
    page = tmp_path / "page"
    (page / "js").mkdir(parents=True)
    (page / ".hidden").mkdir()
    (page / "index.html").write_text("<!doctype html><title>é</title>", encoding="utf-8")
    (page / "js" / "main.js").write_text("export {};", encoding="utf-8")
    (page / "look.css").write_text("p {}", encoding="utf-8")
    (page / "icon.svg").write_text("<svg/>", encoding="utf-8")
    (page / ".hidden" / "main.js").write_text("secret", encoding="utf-8")
    (page / "notes.txt").write_text("secret", encoding="utf-8")
    (tmp_path / "outside.js").write_text("secret", encoding="utf-8")
    return page


@pytest.fixture
def page(folder: Path) -> Iterator[TestClient]:
    with TestClient(create_app(Settings(threads=1, pages=folder))) as client:
        yield client


@pytest.mark.parametrize(
    ("address", "media_type", "text"),
    [
        ("/", "text/html; charset=utf-8", "<!doctype html><title>é</title>"),
        ("/index.html", "text/html; charset=utf-8", "<!doctype html><title>é</title>"),
        ("/js/main.js", "text/javascript; charset=utf-8", "export {};"),
        ("/look.css", "text/css; charset=utf-8", "p {}"),
        ("/icon.svg", "image/svg+xml", "<svg/>"),
    ],
)
def test_each_file_with_its_type(page: TestClient, address: str, media_type: str, text: str) -> None:
    answer = page.get(address)
    assert (answer.status_code, answer.headers["content-type"], answer.text) == (200, media_type, text)
    assert int(answer.headers["content-length"]) == len(text.encode())
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "default-src 'self'" in answer.headers["content-security-policy"]
    assert "unsafe" not in answer.headers["content-security-policy"]
    head = page.head(address)
    assert (head.status_code, head.content, head.headers["etag"]) == (200, b"", answer.headers["etag"])


def test_a_file_is_sent_again_only_when_it_has_changed(page: TestClient, folder: Path) -> None:
    first = page.get("/js/main.js")
    assert first.headers["cache-control"] == "no-cache"
    etag = first.headers["etag"]
    for named in (etag, f"W/{etag}", f'"other", {etag}', "*"):
        again = page.get("/js/main.js", headers={"if-none-match": named})
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", etag)
        assert again.headers["cache-control"] == "no-cache"
    assert page.get("/js/main.js", headers={"if-none-match": '"other"'}).status_code == 200
    (folder / "js" / "main.js").write_text("export {}; // changed", encoding="utf-8")
    with TestClient(create_app(Settings(threads=1, pages=folder))) as later:
        answer = later.get("/js/main.js", headers={"if-none-match": etag})
    assert (answer.status_code, answer.text) == (200, "export {}; // changed")


@pytest.mark.parametrize(
    "address",
    [
        "/notes.txt",
        "/.hidden/main.js",
        "/js",
        "/js/",
        "/../outside.js",
        "/js/../../outside.js",
        "/%2e%2e/outside.js",
        "/..%2foutside.js",
        "/js/main.js/",
        "//js/main.js",
        "/js/main.js%00",
    ],
)
def test_nothing_else_is_reached(page: TestClient, address: str) -> None:
    answer = page.get(address)
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"
    assert "secret" not in answer.text


def test_the_api_is_the_same_with_and_without_a_page(page: TestClient, client: TestClient) -> None:
    for method, address in (
        ("GET", "/livez"),
        ("GET", "/v1/cards"),
        ("GET", "/v1/cards/small"),
        ("GET", "/openapi.json"),
        ("GET", "/v1/nothing"),
        ("POST", "/v1/cards"),
        ("DELETE", "/v1/advice"),
        ("POST", "/v1/advice"),
    ):
        request_id = {"x-request-id": "same"}
        one, other = (each.request(method, address, headers=request_id) for each in (page, client))
        assert (one.status_code, one.content, one.headers) == (
            other.status_code,
            other.content,
            other.headers,
        )
    assert client.get("/").status_code == 404
    assert page.post("/").status_code == 405


def test_the_page_that_ships_is_whole_and_names_no_other_host() -> None:
    with TestClient(create_app(Settings(threads=1, pages=WEB))) as client:
        seen, todo = set[str](), ["/index.html"]
        while todo:
            address = todo.pop()
            if address in seen:
                continue
            seen.add(address)
            answer = client.get(address)
            assert answer.status_code == 200, address
            text = answer.text.replace("http://www.w3.org/2000/svg", "")
            assert "http://" not in text
            assert "https://" not in text
            base = Path(address).parent
            links = re.findall(r'(?:src|href)="([^"#]+)"|from "(\.[^"]+)"', text)
            found = [next(filter(None, link)) for link in links]
            todo += ["/" + str((base / link).resolve().relative_to("/")) for link in found]
    on_disk = {
        f"/{file.relative_to(WEB).as_posix()}" for file in WEB.rglob("*") if file.suffix in (".js", ".css")
    }
    assert on_disk <= seen, "files that no part of the page uses"


@pytest.mark.parametrize("file", sorted(WEB.rglob("*.html")), ids=lambda file: file.name)
def test_markup_has_nothing_that_the_policy_forbids(file: Path) -> None:
    text = file.read_text(encoding="utf-8")
    assert not re.search(r"<style|style=|\son\w+=|javascript:", text)
    assert all(re.search(r'src="', tag) for tag in re.findall(r"<script[^>]*>", text))


def test_every_process_finds_the_page_unless_the_environment_names_another(
    monkeypatch: pytest.MonkeyPatch, folder: Path
) -> None:
    found = []
    monkeypatch.setattr("api.server._run", lambda _: found.append(Settings.from_environment().pages))
    for environment in ({}, {"THREEPASS_PAGES": str(folder)}):
        monkeypatch.setattr("os.environ", dict(environment))
        serve("127.0.0.1", 8123, workers=2, pages=WEB)
    assert found == [WEB, folder]
