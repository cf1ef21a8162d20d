"""The description of the service: complete, and true of what is served."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from api.operations import declared, examples
from api.problems import WORDS, Kind
from api.service import describe
from patterns.tiles import Tile
from solver.limits import LIMITS, AtLeast, Sort
from tests.api.asking import Ask
from tests.api.conftest import STATUS, Problem

DESCRIPTION: dict[str, Any] = describe()
OPERATIONS = {
    operation["operationId"]: (path, method, operation)
    for path, methods in DESCRIPTION["paths"].items()
    for method, operation in methods.items()
}
BODIES = [
    pytest.param(name, title, example["value"], id=f"{name}-{title}")
    for name, (_, _, operation) in OPERATIONS.items()
    if "requestBody" in operation
    for content in operation["requestBody"]["content"].values()
    for title, example in content["examples"].items()
]
# What each operation's problems are, written here a second time on purpose.
EVERYWHERE = {"not-http", "wrong-method", "other-host", "long-head", "internal"}
OF_BODIES = {"not-json", "too-slow", "too-large", "wrong-media-type", "invalid", "too-dear"}
WORK = {"busy", "out-of-time"}
PLAIN = (
    "votes check_records deals progress classes tables compositions fit_games fits sheets batches check_card"
)
PROBLEMS = {
    **dict.fromkeys(PLAIN.split(), EVERYWHERE | OF_BODIES | WORK),
    **dict.fromkeys(("advice", "plans", "reviews"), EVERYWHERE | OF_BODIES | WORK | {"limits-clash"}),
    "sheet_pages": EVERYWHERE | OF_BODIES | WORK | {"not-installed"},
    "list_cards": EVERYWHERE | WORK,
    "show_card": EVERYWHERE | WORK | {"not-found"},
    "list_limits": EVERYWHERE,
    "alive": EVERYWHERE,
    "ready": EVERYWHERE | WORK,
}
FILES = {"sheet_pages": ["text/html", "application/pdf", "text/csv"], "batches": ["application/x-ndjson"]}


def test_it_is_what_is_served(client: TestClient) -> None:
    assert client.get("/openapi.json").json() == DESCRIPTION
    assert DESCRIPTION["openapi"].startswith("3.1.")
    assert client.get("/redoc").status_code == 404


def test_every_operation_is_described_and_named_here() -> None:
    assert {each.name for each in declared()} == OPERATIONS.keys() == PROBLEMS.keys()
    assert examples().keys() == {name for name, (_, method, _) in OPERATIONS.items() if method == "post"}


@pytest.mark.parametrize("name", OPERATIONS)
def test_every_operation_declares_its_problems_and_has_words(name: str) -> None:
    operation = OPERATIONS[name][2]
    responses = operation["responses"]
    declared = set()
    for status, response in responses.items():
        if status == "200":
            assert list(response["content"]) == FILES.get(name, ["application/json"])
            continue
        (content,) = response["content"].items()
        assert content[0] == "application/problem+json"
        assert content[1]["schema"] == {"$ref": "#/components/schemas/Problem"}
        words = re.findall("`urn:threepass:problem:([a-z-]+)`", response["description"])
        assert {str(STATUS[word]) for word in words} == {status}
        declared.update(words)
    assert declared == PROBLEMS[name]
    assert ("retry-after" in responses.get("503", {}).get("headers", {})) is ("busy" in PROBLEMS[name])
    assert operation["summary"] and operation["description"]
    if "requestBody" in operation:
        (content,) = operation["requestBody"]["content"].values()
        assert content["examples"]


def test_every_sort_of_problem_is_declared_somewhere() -> None:
    assert set().union(*PROBLEMS.values()) == {kind.word for kind in Kind}


def test_people_read_it_on_a_page_that_needs_no_other_host(client: TestClient) -> None:
    page = client.get("/docs")
    assert page.headers["content-type"] == "text/html; charset=utf-8"
    assert page.headers["content-security-policy"].startswith("default-src 'none'")
    assert not re.search(r"https?://|<script|@import|url\(", page.text)
    links, places = (set(re.findall(f'{name}="#?([^"]+)"', page.text)) for name in ("href", "id"))
    assert links - {"/openapi.json"} <= places
    assert {*OPERATIONS, *DESCRIPTION["components"]["schemas"]} == places
    assert "`" not in page.text and "None" not in re.sub("<pre>.*?</pre>", "", page.text, flags=re.DOTALL)


def resolved(schema: dict[str, Any]) -> dict[str, Any]:
    name = schema.get("$ref", "").removeprefix("#/components/schemas/")
    return DESCRIPTION["components"]["schemas"][name] if name else schema


def keeps(value: object, schema: dict[str, Any], place: str = "#") -> None:
    """Check that an answer has the members described, all of them, all the way down."""
    schema = resolved(schema)
    if "anyOf" in schema:
        if value is None:
            assert {"type": "null"} in schema["anyOf"], place
            return
        schema, *others = [resolved(each) for each in schema["anyOf"] if each != {"type": "null"}]
        assert not others or not isinstance(value, dict | list), place
    if isinstance(value, dict) and "properties" in schema:
        assert list(value) == list(schema["properties"]), place
        assert set(schema.get("required", ())) <= value.keys(), place
        for key, part in value.items():
            keeps(part, schema["properties"][key], f"{place}/{key}")
    if isinstance(value, list):
        for index, part in enumerate(value):
            keeps(part, schema["items"], f"{place}/{index}")


@pytest.mark.parametrize(("name", "title", "body"), BODIES)
def test_every_example_works_and_its_answer_has_the_members_described(
    client: TestClient, name: str, title: str, body: object
) -> None:
    path, method, operation = OPERATIONS[name]
    (media_type,) = operation["requestBody"]["content"]
    headers = {"content-type": media_type}
    response = client.request(method, path, content=json.dumps(body), headers=headers)
    assert response.status_code == 200
    schema = operation["responses"]["200"]["content"].get(media_type, {}).get("schema")
    if schema is not None:
        keeps(response.json(), schema)
    if name == "check_card":
        assert response.json()["ok"] is (title != "faulty")


@pytest.mark.parametrize("path", ["/livez", "/readyz", "/v1/cards", "/v1/cards/small", "/v1/limits"])
def test_answers_to_questions_without_a_body_too(client: TestClient, path: str) -> None:
    described = DESCRIPTION["paths"][path.replace("small", "{name}")]["get"]
    schema = described["responses"]["200"]["content"]["application/json"]["schema"]
    keeps(client.get(path).json(), schema)


def test_a_problem_has_the_members_described(client: TestClient, problem: Problem) -> None:
    body = problem(client.post("/v1/advice", json={}), "invalid")
    keeps(body, {"$ref": "#/components/schemas/Problem"})
    assert body["errors"]


# A value of each sort of limits, as it is sent and as the solver has it.
VALUES: dict[Sort, tuple[object, Any]] = {
    Sort.YES_NO: (True, True),
    Sort.TILES: ("F", (Tile.FLOWER,)),
    Sort.AT_LEAST: ({"count": 1, "reach": 1e-9}, AtLeast(1, 1e-9)),
}


def test_limits_are_those_of_the_solver_in_the_list_the_request_and_the_answer(
    client: TestClient, ask: Ask
) -> None:
    listed = client.get("/v1/limits").json()["limits"]
    assert listed == [
        {"name": kind.name, "sentence": kind.sentence, "sort": kind.sort.value} for kind in LIMITS
    ]
    members = DESCRIPTION["components"]["schemas"]["LimitsBody"]["properties"]
    assert members.keys() == {"only", "without", "weights", *(kind.name for kind in LIMITS)}
    for kind in LIMITS:
        body = ask(limits={kind.name: VALUES[kind.sort][0]}).json()
        (says,) = [limit.says for limit in kind.of(VALUES[kind.sort][1])]
        assert body["assumptions"]["limits"] == [says]
        assert body["limits_cost"]["expected_hands"] >= 0


def test_the_readme_has_every_word_and_status_of_an_error() -> None:
    readme = (Path(__file__).parents[2] / "api" / "README.md").read_text(encoding="utf-8")
    refusals = readme.partition("## Refusals")[2].partition("\n## ")[0]
    rows = re.findall(r"^\| `([a-z-]+)` \| (\d+) \|", refusals, re.MULTILINE)
    assert {word: int(status) for word, status in rows} == {kind.word: kind.status for kind in Kind}
    told = re.findall(r"`([a-z-]+)`", refusals.partition("Words of faults")[2])
    assert sorted(told) == sorted(WORDS)
    schemas = DESCRIPTION["components"]["schemas"]
    assert schemas["ProblemItem"]["properties"]["type"]["enum"] == list(WORDS)
    assert schemas["Problem"]["properties"]["type"]["enum"] == [kind.urn for kind in Kind]


def test_the_readme_has_every_address_and_its_example_works(client: TestClient) -> None:
    readme = (Path(__file__).parents[2] / "api" / "README.md").read_text(encoding="utf-8")
    told = set(re.findall(r"`(?:GET|POST) (/[^`]*)`", readme))
    assert told == {*DESCRIPTION["paths"], "/openapi.json", "/docs"}
    (body,) = re.findall(r"<!-- request example.*?-d '(.*?)'\n```", readme, re.DOTALL)
    answer = client.post("/v1/advice", json=json.loads(body)).json()
    table = readme.partition("member of advice")[2].partition("\n\n")[0]
    members = set(re.findall(r"^\| (`[a-z_`, ]+`) \|", table, re.MULTILINE))
    named = {name for group in members for name in re.findall(r"`([a-z_]+)`", group)}
    assert named == answer.keys() - {"words"}
