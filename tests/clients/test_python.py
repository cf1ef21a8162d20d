"""The client for Python: true of the description, to wait for or to await, and no heavier than need be."""

import asyncio
import re
import signal
import subprocess
import sys
import typing
from collections.abc import Iterator
from importlib.metadata import requires
from pathlib import Path
from typing import Any, get_args, get_type_hints

import httpx2
import pytest
from pydantic import BaseModel, TypeAdapter
from threepass import AsyncClient, Client, ProblemError, UnreachableError, answers
from threepass.client import Operation, Operations

from api.operations import examples
from api.service import describe
from tests.benchmarks.serving import ended, until
from tests.clients.cli.test_service import BUSY, answering
from tests.clients.conftest import RACK

DESCRIPTION: dict[str, Any] = describe()
SCHEMAS = DESCRIPTION["components"]["schemas"]
DESCRIBED = {each["operationId"]: each for path in DESCRIPTION["paths"].values() for each in path.values()}
OPERATIONS = {name: each for name, each in vars(Operations).items() if isinstance(each, Operation)}
BODIES = [(name, title) for name, bodies in examples().items() for title in bodies]


def alternatives(schema: dict[str, Any], definitions: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the schemas, none of them a reference or a choice, that a schema is a choice of."""
    if "$ref" in schema:
        return alternatives(definitions[schema["$ref"].rpartition("/")[2]], definitions)
    choices = schema.get("anyOf", [])
    return [each for choice in choices for each in alternatives(choice, definitions)] or [schema]


def fits(mine: dict[str, Any], theirs: dict[str, Any], place: str, definitions: dict[str, Any]) -> None:
    """Check that the client's schema takes whatever has the service's, and names nothing that it lacks."""
    allowed = [each for each in alternatives(mine, definitions) if each.keys() - {"title", "default"}]
    for said in alternatives(theirs, SCHEMAS):
        alike = [each for each in allowed if each["type"] == said.get("type")]
        assert alike or not allowed, f"{place}: {said}"
        for each in alike:
            assert set(each.get("required", ())) <= set(said.get("required", ())), place
            for name, part in each.get("properties", {}).items():
                assert name in said["properties"], f"{place}/{name}"
                fits(part, said["properties"][name], f"{place}/{name}", definitions)
            if "items" in each:
                fits(each["items"], said["items"], f"{place}/0", definitions)


def test_every_operation_is_there() -> None:
    assert OPERATIONS.keys() == DESCRIBED.keys()


@pytest.mark.parametrize("name", OPERATIONS)
def test_answers_are_as_described(name: str) -> None:
    (read,) = get_args(get_type_hints(OPERATIONS[name]._call)["return"])
    ((media_type, content), *_) = DESCRIBED[name]["responses"]["200"]["content"].items()
    if read is bytes:
        assert media_type not in ("application/json", "application/x-ndjson")
        return
    model = get_args(read)[0] if media_type == "application/x-ndjson" else read
    mine = TypeAdapter(model).json_schema(mode="validation")
    fits(mine, content["schema"], name, mine.get("$defs", {}))


@pytest.mark.parametrize("name", [name for name in OPERATIONS if "requestBody" in DESCRIBED[name]])
def test_requests_have_every_member(name: str) -> None:
    ((media_type, content),) = DESCRIBED[name]["requestBody"]["content"].items()
    described = SCHEMAS[content["schema"]["$ref"].rpartition("/")[2]]["properties"]
    hints = get_type_hints(OPERATIONS[name]._call)
    hints.pop("return")
    more = hints.pop("more", None)
    named = get_type_hints(get_args(more)[0]) if more else {}
    if media_type == "application/x-ndjson":
        named = get_type_hints(get_args(hints.pop("lines"))[0])
    assert hints.keys() | named.keys() == described.keys()


def test_rounds_are_those_of_the_service() -> None:
    assert list(get_args(answers.Round)) == SCHEMAS["Round"]["enum"]


@pytest.fixture(scope="module")
def client(server: str) -> Iterator[Client]:
    with Client(server) as opened:
        yield opened


@pytest.mark.parametrize(("name", "title"), BODIES)
def test_every_example_is_answered(client: Client, server: str, name: str, title: str) -> None:
    body: dict[str, Any] = examples()[name][title]
    if name == "batches":
        (line,) = client.batches([typing.cast(answers.Line, body)])
        assert (line.line, line.status) == (1, 200)
        return
    if name == "sheet_pages":
        body = {**body, "sheet": answers.Sheet.model_validate(body["sheet"])}
    answer = getattr(client, name)(**body)
    if isinstance(answer, BaseModel):
        path, _ = next(
            (p, m) for p, ms in DESCRIPTION["paths"].items() for m in ms.values() if m["operationId"] == name
        )
        plain = httpx2.post(server + path, json=examples()[name][title], trust_env=False, timeout=60).json()
        assert answer.model_dump(mode="json", by_alias=True) == plain
    else:
        assert answer


def test_questions_without_a_body(client: Client) -> None:
    assert {card.name for card in client.list_cards().cards} >= {"small", "full"}
    assert client.show_card("small").title and client.list_limits().limits
    assert (client.alive().status, client.ready().status) == ("alive", "ready")
    with pytest.raises(ProblemError) as refused:
        client.show_card("a/b")
    assert refused.value.problem.status == 404


def test_a_refusal_names_every_fault(client: Client) -> None:
    with pytest.raises(ProblemError) as refused:
        client.advice("3x", "first_right", give=9)
    problem = refused.value.problem
    assert (problem.status, problem.type) == (422, "urn:threepass:problem:invalid")
    assert {fault.pointer for fault in problem.errors} == {"#/rack", "#/give"}
    assert str(refused.value).splitlines() == problem.lines


def test_awaited_answers_are_the_same(client: Client, server: str) -> None:
    async def asked() -> tuple[answers.Advice, ...]:
        async with AsyncClient(server) as awaited:
            with pytest.raises(ProblemError):
                await awaited.advice("3x", "courtesy")
            two = (awaited.advice(RACK, "courtesy", card="small", give=give) for give in (1, 2))
            return tuple(await asyncio.gather(*two))

    assert asyncio.run(asked()) == tuple(
        client.advice(RACK, "courtesy", card="small", give=give) for give in (1, 2)
    )


def test_awaited_it_asks_again_where_the_service_says_when_and_only_there() -> None:
    async def alive(url: str) -> answers.Alive:
        async with AsyncClient(url) as client:
            return await client.alive()

    with answering([(503, {"retry-after": "0"}, BUSY), (200, {}, b"{}")]) as (url, asked):
        assert asyncio.run(alive(url)).status == "alive"
    assert len(asked) == 2
    with answering([(500, {"retry-after": "0"}, BUSY)]) as (url, asked), pytest.raises(ProblemError):
        asyncio.run(alive(url))
    assert len(asked) == 1
    with pytest.raises(UnreachableError, match="no answer from http"):
        asyncio.run(alive(url))


# Tells the id of a service of its own, and then waits to be killed.
_OWNER = """
import sys, time
from threepass import Client
client = Client.local()
print(client.alive().status, client._own._process.pid, flush=True)
if sys.argv[1] == "leaves": sys.exit()
time.sleep(600)
"""


@pytest.mark.parametrize("ends", ["leaves", "is killed"])
def test_a_service_of_its_own_ends_with_whoever_started_it(ends: str) -> None:
    owner = subprocess.Popen([sys.executable, "-c", _OWNER, ends], stdout=subprocess.PIPE, text=True)
    with owner:
        assert owner.stdout is not None
        status, service = owner.stdout.readline().split()
        assert status == "alive"
        if ends == "is killed":
            owner.send_signal(signal.SIGKILL)
        owner.wait(timeout=60)
    assert until(lambda: ended(int(service)))


def test_it_is_awaited_too_and_closing_ends_it() -> None:
    async def local() -> str:
        async with AsyncClient.local() as client:
            status = (await client.alive()).status
            own = client._own
        assert own is not None and own._process.poll() == 0
        with pytest.raises(UnreachableError):
            await AsyncClient(client.server).alive()
        return status

    assert asyncio.run(local()) == "alive"


def test_no_proxy_stands_before_this_machine(
    server: str, nowhere: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HTTP_PROXY", nowhere)
    with Client(server) as client:
        assert client.alive().status == "alive"


def test_it_loads_an_http_client_and_pydantic_and_nothing_of_ours() -> None:
    code = "import threepass, sys; print(*{name.partition('.')[0] for name in sys.modules})"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    needed = {
        re.split("[^a-z0-9]", each)[0] for each in requires("threepass") or () if "extra ==" not in each
    }
    assert needed >= {"click", "ortools", "pydantic", "httpx2"}
    loaded = set(shown.split()) & {*needed, "patterns", "solver", "api", "clients"}
    assert loaded == {"httpx2", "pydantic"}


@pytest.mark.parametrize("number", [0, 1])
def test_the_examples_for_programmers_work(number: int) -> None:
    readme = (Path(__file__).parents[2] / "api" / "README.md").read_text(encoding="utf-8")
    code = re.findall(r"```python\n(.*?)```", readme, re.DOTALL)[number]
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout and not ran.stderr
