"""Declaring for the API's description what an operation takes and answers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from api.problems import MEDIA_TYPE, Kind
from api.wire.base import Answer, Request

Endpoint = TypeVar("Endpoint", bound=Callable[..., Any])
Responses = dict[int | str, dict[str, Any]]
_BODY = "threepass_body"
_ANYWHERE = (Kind.WRONG_METHOD, Kind.INTERNAL)
IN_THE_POOL = (Kind.BUSY,)
WITH_A_BODY = (
    Kind.NOT_JSON,
    Kind.TOO_SLOW,
    Kind.TOO_LARGE,
    Kind.WRONG_MEDIA_TYPE,
    Kind.INVALID,
    *IN_THE_POOL,
)


@dataclass(frozen=True)
class Body:
    """A request body for the API's description; the body itself is read by `api.body`.

    Attributes:
        model: Its shape.
        examples: By name, bodies that work.
    """

    model: type[Request]
    examples: Mapping[str, object]


def takes(model: type[Request], examples: Mapping[str, object]) -> Callable[[Endpoint], Endpoint]:
    """Declare the body of an operation, with examples by name."""

    def declare(endpoint: Endpoint) -> Endpoint:
        setattr(endpoint, _BODY, Body(model, examples))
        return endpoint

    return declare


def body_of(endpoint: Callable[..., Any] | None) -> Body | None:
    """Return what `takes` declared for an endpoint, if anything."""
    body: Body | None = getattr(endpoint, _BODY, None)
    return body


def answers(model: type[Answer], *problems: Kind, example: object = None) -> Responses:
    """Declare what an operation answers.

    Args:
        model: The shape of a success.
        problems: What may go wrong, besides what may anywhere.
        example: A body of a success.
    """
    success: dict[str, Any] = {"model": model}
    if example is not None:
        success["content"] = {"application/json": {"example": example}}
    return _with_problems(success, problems)


def gives_files(media_types: Iterable[str], *problems: Kind) -> Responses:
    """Declare that an operation answers with a file, of one of some media types.

    Args:
        media_types: Of a success.
        problems: What may go wrong, besides what may anywhere.
    """
    schema = {"type": "string"}
    return _with_problems({"content": {each: {"schema": schema} for each in media_types}}, problems)


def _with_problems(success: dict[str, Any], problems: Iterable[Kind]) -> Responses:
    responses: Responses = {200: success}
    for kind in sorted({*problems, *_ANYWHERE}, key=lambda kind: (kind.status, kind.word)):
        response = responses.setdefault(kind.status, _problem_response(kind.status))
        response["description"] = f"{response.get('description', '')}; {kind.title}".removeprefix("; ")
        response["content"][MEDIA_TYPE]["examples"][kind.word] = {"value": _problem_example(kind)}
    return responses


def _problem_response(status: int) -> dict[str, Any]:
    content = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}, "examples": {}}}
    if status != Kind.BUSY.status:
        return {"content": content}
    retry = {
        "description": "Seconds after which to try again; absent when that would not help",
        "schema": {"type": "integer"},
    }
    return {"content": content, "headers": {"retry-after": retry}}


def _problem_example(kind: Kind) -> dict[str, object]:
    items: dict[Kind, tuple[str, str, str]] = {
        Kind.INVALID: ("#/rack/12", "column 1: '0b' is not a tile", "unknown-tile"),
        Kind.LIMITS_CLASH: ("#/limits/stay", "2 of flower must stay", "limit"),
    }
    return {
        "type": kind.urn,
        "title": kind.title,
        "status": kind.status,
        "detail": "what went wrong this time",
        "request_id": "7f9c24e5a1",
        "errors": [
            dict(zip(("pointer", "detail", "type"), items[kind], strict=True)) for _ in range(kind in items)
        ],
    }
