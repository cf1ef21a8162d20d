"""What an operation is, and the description of all of them (OpenAPI 3.1)."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from importlib import resources
from importlib.metadata import version
from inspect import getdoc
from typing import TYPE_CHECKING, Any, TypeVar, get_type_hints

from markupsafe import Markup, escape
from pydantic import BaseModel
from pydantic.json_schema import JsonSchemaMode, models_json_schema

from api.problems import MEDIA_TYPE, Kind, Later, Problem, Reply, too_dear
from api.reading import Answer, Request, Shape, read_shape
from api.sheets.tiles import environment
from patterns.tiles import Tile
from solver.price import Price

if TYPE_CHECKING:
    from api.answers.cards import CardShelf

_ABOUT = """\
Stateless JSON. Every error is a problem of RFC 9457 that names all faults with JSON pointers. Any request
may carry an id in `x-request-id` (up to 64 letters, digits, `.`, `_`, `-`); every answer carries one.
Members called `words` are texts and numbers for people, ready to print; programs read the numbers."""
JSON, NDJSON = "application/json", "application/x-ndjson"
_REF = "#/components/schemas/{model}"
_CALLED, _CODE = re.compile(r"\W+"), re.compile(r"`([^`]+)`")
_ANYWHERE = (Kind.NOT_HTTP, Kind.WRONG_METHOD, Kind.OTHER_HOST, Kind.LONG_HEAD, Kind.INTERNAL)
_WITH_A_BODY = (
    Kind.NOT_JSON,
    Kind.TOO_SLOW,
    Kind.TOO_LARGE,
    Kind.WRONG_MEDIA_TYPE,
    Kind.INVALID,
    Kind.TOO_DEAR,
)
_WITH_WORK = (Kind.BUSY, Kind.OUT_OF_TIME)


@dataclass(frozen=True)
class Task:
    """One request, to be done."""

    cards: CardShelf
    # The body as parsed from JSON, or bytes where it is lines; None where the operation takes none.
    written: object
    # Parts of the address by name, such as a card's.
    named: Mapping[str, str]
    # Answers one line of a batch, given its number.
    line: Callable[[int, bytes], bytes]


@dataclass(frozen=True)
class Operation:
    """One operation of the service.

    Attributes:
        path: Its address; ``{name}`` in it stands for one part.
        job: Does it, with what was read.
        takes: The shape of its body; None where it takes none, and its method is then GET.
        gives: The shape of a success; None where that is a file of one of the media types `files`.
        problems: What may go wrong, besides what may anywhere or with any body.
        at_once: Whether it is done without waiting for a thread.
        lines: Whether it takes many of its shape, a line each, and answers each with a line.
    """

    path: str
    name: str
    job: Callable[[Any], Answer | Reply | Later]
    reads: Callable[[Task, Any], Any]
    price: Callable[[Any], Price]
    tag: str = ""
    summary: str = ""
    about: str = ""
    takes: type[Request] | None = None
    gives: type[Answer] | None = None
    files: Sequence[str] = ()
    problems: Sequence[Kind] = ()
    at_once: bool = False
    lines: bool = False

    @property
    def media_type(self) -> str:
        """What its body is, and what it answers with unless that is a file."""
        return NDJSON if self.lines else JSON

    @property
    def method(self) -> str:
        """Its HTTP method."""
        return "GET" if self.takes is None else "POST"

    def do(self, task: Task, most_work: float) -> Answer | Reply | Later:
        """Do it, if it costs no more than so many units of work (see `solver.price`); else a ProblemError."""
        asked = self.reads(task, self.takes)
        price = self.price(asked)
        if price.units > most_work:
            raise too_dear(price, most_work)
        return self.job(asked)

    def match(self, path: str) -> dict[str, str] | None:
        """Return the named parts of an address, if it is one of this operation."""
        found = self._address.fullmatch(path)
        return None if found is None else found.groupdict()

    @cached_property
    def _address(self) -> re.Pattern[str]:
        return re.compile(re.sub(r"\\{(\w+)\\}", r"(?P<\1>[^/]+)", re.escape(self.path)))


_DECLARED: dict[str, Operation] = {}
Asks = TypeVar("Asks")


def itself(task: Task, _shape: object = None) -> Task:
    """Read nothing: who does the operation looks at the request."""
    return task


def shaped(task: Task, shape: type[Shape]) -> Shape:
    """Read what is of one shape; FaultyInputError with every fault of it."""
    return read_shape(shape, task.written)


def bounded(_asked: object) -> Price:
    """Return the price of what the caps on a request's parts keep within a second."""
    return Price(1e6)


def operation(
    path: str,
    takes: type[Shape] | None = None,
    *,
    reads: Callable[[Task, type[Shape]], Asks],
    price: Callable[[Asks], Price],
    **members: Any,
) -> Callable[[Callable[[Asks], Answer | Reply | Later]], Callable[[Asks], Answer | Reply | Later]]:
    """Declare that a function does an operation: its name, summary and description are the function's.

    It gives what the function returns; its tag, the resource it belongs to, is by default the module's name.
    """

    def declare(job: Callable[[Asks], Answer | Reply | Later]) -> Callable[[Asks], Answer | Reply | Later]:
        summary, _, about = (getdoc(job) or "").partition("\n\n")
        returned = get_type_hints(job)["return"]
        by_default = {
            "tag": job.__module__.rpartition(".")[2],
            "gives": returned if isinstance(returned, type) and issubclass(returned, Answer) else None,
        }
        _DECLARED[job.__name__] = Operation(
            *(path, job.__name__, job, reads, price),
            takes=takes,
            summary=summary.rstrip("."),
            about=about or summary,
            **{**by_default, **members},
        )
        return job

    return declare


def declared() -> tuple[Operation, ...]:
    """Return the operations of the resources that were imported."""
    return tuple(_DECLARED.values())


def description(operations: Sequence[Operation]) -> dict[str, Any]:
    """Return the description of the service."""
    paths: dict[str, dict[str, Any]] = {}
    for operation in operations:
        paths.setdefault(operation.path, {})[operation.method.lower()] = _described(operation)
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "threepass",
            "summary": "What should I pass?",
            "description": _ABOUT,
            "version": version("threepass"),
        },
        "paths": paths,
        "components": {"schemas": dict(sorted(_schemas(operations).items()))},
    }


@cache
def examples() -> dict[str, dict[str, Any]]:
    """Return request bodies that work, by operation and name."""
    text = resources.files("api").joinpath("examples.json").read_text(encoding="utf-8")
    read: dict[str, dict[str, Any]] = json.loads(text)
    return read


def _described(operation: Operation) -> dict[str, Any]:
    says: dict[str, Any] = {
        "tags": [operation.tag],
        "summary": operation.summary,
        "description": operation.about,
        "operationId": operation.name,
    }
    named = [part.strip("{}") for part in operation.path.split("/") if part.startswith("{")]
    if named:
        says["parameters"] = [
            {"name": name, "in": "path", "required": True, "schema": {"type": "string"}, "example": "small"}
            for name in named
        ]
    if operation.takes is not None:
        bodies = examples()[operation.name]
        shown = {name: {"value": body} for name, body in bodies.items()}
        content = {"schema": _reference(operation.takes), "examples": shown}
        says["requestBody"] = {"required": True, "content": {operation.media_type: content}}
    says["responses"] = {"200": _success(operation), **_problems(operation)}
    return says


def _reference(model: type[BaseModel]) -> dict[str, str]:
    return {"$ref": _REF.format(model=model.__name__)}


def _success(operation: Operation) -> dict[str, Any]:
    if operation.gives is None:
        content: dict[str, Any] = {each: {"schema": {"type": "string"}} for each in operation.files}
    else:
        content = {operation.media_type: {"schema": _reference(operation.gives)}}
    return {"description": "Success", "content": content}


def _problems(operation: Operation) -> dict[str, Any]:
    responses: dict[str, Any] = {}
    kinds = {*operation.problems, *_ANYWHERE, *(() if operation.at_once else _WITH_WORK)}
    kinds |= set() if operation.takes is None else {*_WITH_A_BODY}
    for kind in sorted(kinds, key=lambda kind: (kind.status, kind.word)):
        empty = {"description": "", "content": {MEDIA_TYPE: {"schema": _reference(Problem)}}}
        response = responses.setdefault(str(kind.status), empty)
        says = f"`{kind.urn}`: {kind.title}"
        response["description"] = "; ".join(filter(None, (response["description"], says)))
    if busy := responses.get(str(Kind.BUSY.status)):
        retry = "Seconds after which to try again; absent when that would not help"
        busy["headers"] = {"retry-after": {"description": retry, "schema": {"type": "integer"}}}
    return responses


def _schemas(operations: Iterable[Operation]) -> dict[str, Any]:
    wanted: dict[tuple[type[BaseModel], JsonSchemaMode], None] = {(Problem, "serialization"): None}
    for operation in operations:
        if operation.takes is not None:
            wanted[operation.takes, "validation"] = None
        if operation.gives is not None:
            wanted[operation.gives, "serialization"] = None
    _, together = models_json_schema(list(wanted), ref_template=_REF)
    definitions: dict[str, Any] = together["$defs"]
    for name, schema in definitions.items():
        for each in (schema, *schema.get("properties", {}).values()):
            if "enum" in each:
                # What generated code calls the values, some of which are no names.
                tile = name == Tile.__name__
                each["x-enum-varnames"] = [
                    Tile(word).name if tile else _called(word) for word in each["enum"]
                ]
    return definitions


def _called(word: str) -> str:
    return _CALLED.sub("_", word.rpartition(":")[2]).upper()


def readable(described: Mapping[str, Any]) -> str:
    """Return a description as one page of HTML that needs nothing else."""
    templates = environment()
    templates.filters["coded"] = lambda text: Markup(_CODE.sub(r"<code>\1</code>", str(escape(text))))
    return templates.get_template("description.html").render(**described)
