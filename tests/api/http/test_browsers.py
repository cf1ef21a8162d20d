"""Browsers on pages of other origins: who may ask, who may show the page, and by which name."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from api.settings import FaultySettingsError, Settings
from tests.api.asking import BODY, opened
from tests.api.conftest import Problem

WEB = Path(__file__).parents[3] / "clients" / "web"
CLUB = "https://club.example"
PREFLIGHT = {"access-control-request-method": "POST", "access-control-request-headers": "content-type"}


@pytest.fixture(scope="module")
def open_to_the_club() -> Iterator[TestClient]:
    with opened(origins=(CLUB,), embedders=(CLUB,), hosts=("threepass.example",), pages=WEB) as client:
        yield client


def test_by_default_no_other_origin_may_ask(client: TestClient, problem: Problem) -> None:
    problem(client.options("/v1/advice", headers={"origin": CLUB, **PREFLIGHT}), "wrong-method")
    answer = client.get("/livez", headers={"origin": CLUB})
    assert not [name for name in answer.headers if name.startswith("access-control")]


def test_an_origin_that_is_named_asks_and_reads_the_headers(open_to_the_club: TestClient) -> None:
    asked = open_to_the_club.options("/v1/advice", headers={"origin": CLUB, **PREFLIGHT})
    assert (asked.status_code, asked.content) == (204, b"")
    assert asked.headers["access-control-allow-origin"] == CLUB
    assert "POST" in asked.headers["access-control-allow-methods"]
    assert "content-type" in asked.headers["access-control-allow-headers"]
    for body, status in ((BODY, 200), ({}, 422)):
        answer = open_to_the_club.post("/v1/advice", json=body, headers={"origin": CLUB})
        assert (answer.status_code, answer.headers["vary"]) == (status, "origin")
        assert answer.headers["access-control-allow-origin"] == CLUB
        assert {"x-request-id", "retry-after"} < set(
            answer.headers["access-control-expose-headers"].split(", ")
        )


@pytest.mark.parametrize("origin", ["https://club.example.a.example", "http://club.example", "null", "\xe9"])
def test_another_origin_is_not_let_in_by_the_name_of_one_that_is(
    open_to_the_club: TestClient, origin: str
) -> None:
    headers = {"origin": origin.encode("latin-1")}
    asked = open_to_the_club.options("/v1/advice", headers={**headers, **PREFLIGHT})
    assert asked.status_code == 405 and "access-control-allow-origin" not in asked.headers
    assert open_to_the_club.get("/livez", headers=headers).headers["vary"] == "origin"


def test_any_origin_if_so_set() -> None:
    with opened(origins=("*",), hosts=("*",)) as client:
        answer = client.get("/livez", headers={"origin": "null", "host": "anything"})
        assert answer.headers["access-control-allow-origin"] == "null"


def test_the_page_is_shown_within_those_that_are_named(open_to_the_club: TestClient) -> None:
    policy = open_to_the_club.get("/").headers["content-security-policy"]
    assert policy.endswith(f"frame-ancestors {CLUB}")
    with opened(pages=WEB) as client:
        assert client.get("/").headers["content-security-policy"].endswith("frame-ancestors 'none'")


@pytest.mark.parametrize("host", ["LOCALHOST:8347", "localhost.", "[::1]:1", "10.0.0.7", "threepass.example"])
def test_it_answers_to_its_names_and_addresses(open_to_the_club: TestClient, host: str) -> None:
    assert open_to_the_club.get("/livez", headers={"host": host}).status_code == 200


@pytest.mark.parametrize("host", ["localhost.evil.example", "127.0.0.1.evil.example:8347", "a b", ""])
@pytest.mark.parametrize("path", ["/", "/livez"])
def test_a_name_that_a_foreign_page_gave_this_machine_reaches_nothing(
    open_to_the_club: TestClient, problem: Problem, host: str, path: str
) -> None:
    problem(open_to_the_club.get(path, headers={"host": host}), "other-host")


@pytest.mark.parametrize("name", ["ORIGINS", "EMBEDDERS"])
@pytest.mark.parametrize(
    "value", ["club.example", "https://club.example/", "https://a;script-src *", "https://é"]
)
def test_what_is_no_origin_is_told(name: str, value: str) -> None:
    with pytest.raises(FaultySettingsError, match=f"THREEPASS_{name}"):
        Settings.from_environment({f"THREEPASS_{name}": value})
