"""The skin over the service: what HTTP adds, and the web page's files beside it."""

import asyncio
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx2
import pytest
from starlette.testclient import TestClient

from api.http.app import create_app
from api.settings import Settings
from solver.advice import Advice
from solver.model import MismatchError
from tests.api.asking import JSON, driven, opened
from tests.api.conftest import Problem

ROOT = Path(__file__).parents[3]
WEB = ROOT / "clients" / "web"


def send_body(client: TestClient, content: object, **headers: str) -> httpx2.Response:
    return client.post("/v1/advice", content=content, headers={**JSON, **headers})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "media_type", ["application/json", "Application/JSON; charset=UTF-8", "application/a+json"]
)
def test_media_types_that_are_json(client: TestClient, media_type: str) -> None:
    assert send_body(client, b"[]", **{"content-type": media_type}).status_code == 422


@pytest.mark.parametrize(
    "headers",
    [
        {"content-type": "text/plain"},
        {"content-type": "application/jsonx"},
        {"content-type": ""},
        {"content-type": "application/json; charset=latin-1"},
        {"content-encoding": "gzip"},
    ],
)
def test_other_media_types_are_refused(client: TestClient, problem: Problem, headers: dict[str, str]) -> None:
    problem(send_body(client, b"{}", **headers), "wrong-media-type")


@pytest.fixture(scope="module")
def narrow() -> Iterator[TestClient]:
    with opened(body_limit=100) as client:
        yield client


def chunks(count: int) -> Iterator[bytes]:
    for _ in range(count):
        yield b" " * 10


def test_the_limit_holds_with_a_length_and_in_chunks(narrow: TestClient, problem: Problem) -> None:
    problem(send_body(narrow, b" " * 100), "not-json")
    problem(send_body(narrow, chunks(10)), "not-json")
    found = problem(send_body(narrow, b" " * 101), "too-large")
    assert found["detail"] == "at most 100 bytes are taken"
    problem(send_body(narrow, chunks(11)), "too-large")


def test_a_body_without_end_is_cut_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("api.http.app.DRAINED", 1000)
    taken = 0

    async def receive() -> dict[str, Any]:
        nonlocal taken
        taken += 300
        return {"type": "http.request", "body": b" " * 300, "more_body": True}

    app = create_app(Settings(threads=1, body_limit=100))
    assert asyncio.run(driven(app, "/v1/advice", receive)) == [413]
    assert 1100 < taken <= 1500


@pytest.mark.parametrize("path", ["/", "/v1/advice/", "/v1/cards/nope", "/v1/cards/a%2Fb", "/%0A"])
def test_not_found(client: TestClient, problem: Problem, path: str) -> None:
    problem(client.get(path), "not-found")


@pytest.mark.parametrize(
    ("method", "path", "allowed"),
    [
        ("PUT", "/v1/advice", "POST"),
        ("DELETE", "/v1/cards/full", "GET"),
        ("GET", "/v1/cards/check", "POST"),
        ("OPTIONS", "/readyz", "GET"),
    ],
)
def test_wrong_method(client: TestClient, problem: Problem, method: str, path: str, allowed: str) -> None:
    response = client.request(method, path)
    problem(response, "wrong-method")
    assert response.headers["allow"] == allowed


def test_not_ready_when_the_solver_fails_but_still_alive(
    problem: Problem, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> Advice:
        raise MismatchError("numbers")

    monkeypatch.setattr("api.answers.advice.advise", fail)
    with opened() as client:
        problem(client.get("/readyz"), "internal")
        assert client.get("/livez").status_code == 200


@pytest.mark.parametrize("path", ["/livez", "/nowhere", "/openapi.json"])
def test_every_answer_has_an_id_of_its_own(client: TestClient, path: str) -> None:
    first, second = (client.get(path).headers["x-request-id"] for _ in range(2))
    assert re.fullmatch("[0-9a-f]{32}", first)
    assert first != second


def test_a_good_id_of_the_client_is_kept(client: TestClient) -> None:
    assert client.get("/livez", headers={"x-request-id": "Lap-7.b_2"}).headers["x-request-id"] == "Lap-7.b_2"


@pytest.mark.parametrize("wanted", [b"", b"a b", b"a\tb", b"x" * 65, "ä".encode(), b"a;b"])
def test_a_bad_id_is_replaced(client: TestClient, wanted: bytes) -> None:
    got = client.get("/livez", headers=[(b"x-request-id", wanted)])
    assert re.fullmatch("[0-9a-f]{32}", got.headers["x-request-id"])


FILES = [
    ("/", "text/html; charset=utf-8", "<!doctype html><title>é</title>"),
    ("/js/main.js", "text/javascript; charset=utf-8", "export {};"),
    ("/look.css", "text/css; charset=utf-8", "p {}"),
    ("/icon.svg", "image/svg+xml", "<svg/>"),
]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A small page, with files beside it that are nobody's business."""
    page = tmp_path / "page"
    good = {address[1:] or "index.html": text for address, _, text in FILES}
    secret = dict.fromkeys((".hidden/main.js", "notes.txt", "../outside.js"), "secret")
    for name, text in {**good, **secret}.items():
        (page / name).parent.mkdir(parents=True, exist_ok=True)
        (page / name).write_text(text, encoding="utf-8")
    return page


@pytest.fixture
def page(folder: Path) -> Iterator[TestClient]:
    with opened(pages=folder) as client:
        yield client


@pytest.mark.parametrize(("address", "media_type", "text"), FILES)
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
    with opened(pages=folder) as later:
        answer = later.get("/js/main.js", headers={"if-none-match": etag})
    assert (answer.status_code, answer.text) == (200, "export {}; // changed")


@pytest.mark.parametrize(
    "address",
    [
        "/notes.txt",
        "/.hidden/main.js",
        "/js/",
        "/js/../../outside.js",
        "/%2e%2e/outside.js",
        "/..%2foutside.js",
        "//js/main.js",
        "/js/main.js%00",
    ],
)
def test_nothing_else_is_reached(page: TestClient, address: str) -> None:
    answer = page.get(address)
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"
    assert "secret" not in answer.text


def test_the_page_that_ships_is_whole_and_names_no_other_host() -> None:
    with opened(pages=WEB) as client:
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
            links = re.findall(r'(?:src|href)="([^"#$]+)"|from "(\.[^"]+)"', text)
            found = [next(filter(None, link)) for link in links]
            todo += ["/" + str((base / link).resolve().relative_to("/")) for link in found]
    on_disk = {
        f"/{file.relative_to(WEB).as_posix()}" for file in WEB.rglob("*") if file.suffix in (".js", ".css")
    }
    assert on_disk <= seen, "files that no part of the page uses"
