"""The description: committed as it is served, complete, and true."""

import json
from collections.abc import Callable
from importlib import resources
from typing import Any

import httpx2
import pytest
from starlette.testclient import TestClient

from api.app import create_app
from api.openapi import as_committed, main
from api.problems import Kind
from api.routes import examples
from api.settings import Settings
from api.wire.cards import CardBody, CardList
from api.wire.health import Alive, Ready

DESCRIPTION: dict[str, Any] = create_app(Settings()).openapi()
OPERATIONS = {
    operation["operationId"]: (path, method, operation)
    for path, methods in DESCRIPTION["paths"].items()
    for method, operation in methods.items()
}
BODIES = [
    pytest.param(name, example["value"], id=f"{name}-{title}")
    for name, (_, _, operation) in OPERATIONS.items()
    if "requestBody" in operation
    for title, example in operation["requestBody"]["content"]["application/json"]["examples"].items()
]
# What each operation's problems are, written here a second time on purpose.
EVERYWHERE = {"wrong-method", "internal"}
OF_BODIES = {"not-json", "too-slow", "too-large", "wrong-media-type", "invalid"}
PROBLEMS = {
    "advice": EVERYWHERE | OF_BODIES | {"limits-clash", "no-answer", "busy"},
    "votes": EVERYWHERE | OF_BODIES | {"no-answer", "busy"},
    "plans": EVERYWHERE | OF_BODIES | {"limits-clash", "no-answer", "busy"},
    "reviews": EVERYWHERE | OF_BODIES | {"limits-clash", "no-answer", "busy"},
    "deals": EVERYWHERE | OF_BODIES | {"no-answer", "busy"},
    "sheets": EVERYWHERE | OF_BODIES | {"no-answer", "busy"},
    "sheet_pages": EVERYWHERE | OF_BODIES | {"not-installed", "busy"},
    "check_card": EVERYWHERE | OF_BODIES | {"busy"},
    "list_cards": EVERYWHERE | {"busy"},
    "show_card": EVERYWHERE | {"busy", "not-found"},
    "alive": EVERYWHERE,
    "ready": EVERYWHERE | {"busy", "no-answer"},
}
FILES = {"sheet_pages": ["text/html", "application/pdf", "text/csv"]}


def test_the_committed_file_is_what_is_served(client: TestClient) -> None:
    committed = resources.files("api").joinpath("openapi.json").read_text(encoding="utf-8")
    assert committed == as_committed(create_app(Settings())), "run: python -m api.openapi > api/openapi.json"
    assert client.get("/openapi.json").json() == json.loads(committed)


def test_it_prints_itself(capsys: pytest.CaptureFixture[str]) -> None:
    main()
    assert json.loads(capsys.readouterr().out) == DESCRIPTION


def test_it_is_openapi_31() -> None:
    assert DESCRIPTION["openapi"].startswith("3.1.")


def test_every_operation_is_named_here() -> None:
    assert OPERATIONS.keys() == PROBLEMS.keys()


@pytest.mark.parametrize("name", OPERATIONS)
def test_every_operation_declares_its_problems(name: str) -> None:
    responses = OPERATIONS[name][2]["responses"]
    declared = set()
    for status, response in responses.items():
        if status == "200":
            assert list(response["content"]) == FILES.get(name, ["application/json"])
            continue
        content = response["content"]
        assert list(content) == ["application/problem+json"]
        assert content["application/problem+json"]["schema"] == {"$ref": "#/components/schemas/Problem"}
        for word, example in content["application/problem+json"]["examples"].items():
            assert example["value"]["type"] == f"urn:threepass:problem:{word}"
            assert str(example["value"]["status"]) == status
            declared.add(word)
    assert declared == PROBLEMS[name]
    assert ("retry-after" in responses.get("503", {}).get("headers", {})) is ("busy" in PROBLEMS[name])


def test_every_sort_of_problem_is_declared_somewhere() -> None:
    assert set().union(*PROBLEMS.values()) == {kind.word for kind in Kind}


@pytest.mark.parametrize("name", OPERATIONS)
def test_every_operation_has_an_example_and_words(name: str) -> None:
    operation = OPERATIONS[name][2]
    assert operation["summary"] and operation["description"]
    if "requestBody" in operation:
        assert operation["requestBody"]["required"] is True
        assert operation["requestBody"]["content"]["application/json"]["examples"]
    else:
        assert operation["responses"]["200"]["content"]["application/json"]["example"]


@pytest.mark.parametrize(("name", "body"), BODIES)
def test_every_example_works(client: TestClient, name: str, body: object) -> None:
    path, method, _ = OPERATIONS[name]
    response = client.request(method, path, json=body)
    assert response.status_code == 200
    if name == "check_card":
        assert response.json()["ok"] is (body != examples.CHECK["faulty"])


@pytest.mark.parametrize(
    ("name", "path", "model"),
    [
        ("alive", "/livez", Alive),
        ("ready", "/readyz", Ready),
        ("list_cards", "/v1/cards", CardList),
        ("show_card", "/v1/cards/small", CardBody),
    ],
)
def test_example_answers_have_the_members_of_real_ones(
    client: TestClient, name: str, path: str, model: Any
) -> None:
    example = OPERATIONS[name][2]["responses"]["200"]["content"]["application/json"]["example"]

    def members(value: object) -> object:
        if isinstance(value, dict):
            return {key: members(part) for key, part in value.items()}
        return members(value[0]) if isinstance(value, list) and value else None

    model.model_validate(example)
    assert members(example) == members(client.get(path).json())


def test_every_reference_leads_somewhere() -> None:
    schemas = DESCRIPTION["components"]["schemas"]
    found = set()

    def walk(value: object) -> None:
        if isinstance(value, dict):
            if isinstance(value.get("$ref"), str):
                found.add(value["$ref"].removeprefix("#/components/schemas/"))
            for part in value.values():
                walk(part)
        elif isinstance(value, list):
            for part in value:
                walk(part)

    walk(DESCRIPTION)
    assert found <= set(schemas)
    assert "Problem" in found and not {"HTTPValidationError", "ValidationError"} & set(schemas)


def test_a_problem_has_the_members_described(
    client: TestClient, problem: Callable[[httpx2.Response, str], dict[str, Any]]
) -> None:
    body = problem(client.post("/v1/advice", json={}), "invalid")
    schema = DESCRIPTION["components"]["schemas"]["Problem"]
    assert list(body) == list(schema["properties"]) == schema["required"]


def test_no_page_that_loads_from_elsewhere(client: TestClient) -> None:
    assert client.get("/docs").status_code == client.get("/redoc").status_code == 404
