import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from prometheus_client.parser import text_string_to_metric_families
from starlette.routing import Route
from starlette.testclient import TestClient

from api.app import create_app
from api.metrics import _forget_the_dead
from api.settings import Settings

BODY = {"rack": "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J", "round": "first_right", "card": "small"}
Labels = tuple[tuple[str, str], ...]


@pytest.fixture
def counting(monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    monkeypatch.delenv("PROMETHEUS_MULTIPROC_DIR", raising=False)
    with TestClient(create_app(Settings(threads=1, metrics=True))) as client:
        yield client


def read(client: TestClient) -> dict[tuple[str, Labels], float]:
    """Return every sample by name and labels, as a reader of the format takes them."""
    response = client.get("/metrics")
    assert response.status_code == 200
    assert response.headers["content-type"] == "text/plain; version=0.0.4; charset=utf-8"
    return {
        (sample.name, tuple(sorted(sample.labels.items()))): sample.value
        for family in text_string_to_metric_families(response.text)
        for sample in family.samples
    }


def requests(method: str, route: str, status: int) -> tuple[str, Labels]:
    return (
        "threepass_requests_total",
        (("method", method), ("route", route), ("status", str(status))),
    )


def test_what_is_counted(counting: TestClient) -> None:
    assert counting.post("/v1/advice", json=BODY).status_code == 200
    assert counting.post("/v1/advice", json={}).status_code == 422
    assert counting.get("/livez").status_code == 200
    found = read(counting)
    assert found[requests("POST", "/v1/advice", 200)] == 1
    assert found[requests("POST", "/v1/advice", 422)] == 1
    assert found[requests("GET", "/livez", 200)] == 1
    assert found["threepass_request_seconds_count", (("route", "/v1/advice"),)] == 2
    assert found["threepass_request_seconds_sum", (("route", "/v1/advice"),)] > 0
    assert found["threepass_queue_wait_seconds_count", ()] == 2, "asking whether it lives waits for no thread"
    assert found["threepass_requests_in_progress", ()] == 1, "this one"
    assert read(counting)[requests("GET", "/metrics", 200)] == 1


def test_labels_are_templates_and_never_what_a_client_wrote(counting: TestClient) -> None:
    for path in ("/v1/cards/small", "/v1/cards/zebra", "/zebra", "/v1/advice/zebra", "/livez?zebra"):
        counting.get(path)
    counting.request("ZEBRA", "/livez")
    app: Any = counting.app
    templates = {route.path for route in app.routes if isinstance(route, Route)} | {
        str(path) for path in app.openapi()["paths"]
    }
    for name, labels in read(counting):
        assert "zebra" not in f"{name}{labels}".lower()
        assert dict(labels).get("route", "none") in {*templates, "none"}
    assert read(counting)[requests("GET", "/v1/cards/{name}", 404)] == 1
    assert read(counting)[requests("OTHER", "/livez", 405)] == 1


def test_a_request_that_fails_is_counted_and_not_left_under_way(
    counting: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError

    monkeypatch.setattr("api.routes.advice.advise", fail)
    assert counting.post("/v1/advice", json=BODY).status_code == 500
    found = read(counting)
    assert found[requests("POST", "/v1/advice", 500)] == 1
    assert found["threepass_requests_in_progress", ()] == 1


def test_switched_off_there_is_no_such_address(
    client: TestClient, problem: Callable[..., dict[str, Any]]
) -> None:
    problem(client.get("/metrics"), "not-found")


def test_switched_on_but_not_installed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "prometheus_client", None)
    with TestClient(create_app(Settings(threads=1, metrics=True))) as client:
        response = client.get("/metrics")
        assert client.get("/livez").status_code == 200
    assert response.status_code == 501
    assert response.headers["content-type"] == "application/problem+json"
    assert response.json()["type"] == "urn:threepass:problem:not-installed"
    assert "threepass[metrics]" in response.json()["detail"]


def test_the_description_is_the_same_with_metrics(counting: TestClient, client: TestClient) -> None:
    assert counting.get("/openapi.json").content == client.get("/openapi.json").content


def test_only_the_dead_are_forgotten(tmp_path: Path) -> None:
    dead = 2**22 + 1  # beyond the ids that Linux gives
    for name in (
        f"gauge_livesum_{os.getpid()}",
        "gauge_livesum_1",
        f"gauge_livesum_{dead}",
        f"counter_{dead}",
    ):
        (tmp_path / f"{name}.db").touch()
    _forget_the_dead(tmp_path)
    assert {path.stem for path in tmp_path.iterdir()} == {
        f"gauge_livesum_{os.getpid()}",
        "gauge_livesum_1",
        f"counter_{dead}",
    }
