"""Problem details (RFC 9457): every answer that is not a success, and which error leads to which."""

from __future__ import annotations

import logging
from collections.abc import Mapping, Sequence
from enum import Enum
from http import HTTPStatus
from urllib.parse import quote

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from api.body import BodyTooLargeError, BodyTooSlowError, NotJsonError, WrongMediaTypeError
from api.wire.problem import Problem, ProblemItem
from api.work import BusyError
from patterns.faults import Fault, FaultyInputError
from solver.advice import ClashError
from solver.model import NoAnswerError, StoppedError

MEDIA_TYPE = "application/problem+json"
MAX_ITEMS = 100
_MAX_STEP = 60
_log = logging.getLogger("threepass.api")


class Kind(Enum):
    """The sorts of problems: word, status and title."""

    NOT_JSON = ("not-json", 400, "The body is not JSON")
    NOT_FOUND = ("not-found", 404, "There is no such thing here")
    WRONG_METHOD = ("wrong-method", 405, "The method is not allowed here")
    TOO_SLOW = ("too-slow", 408, "The body took too long to come")
    TOO_LARGE = ("too-large", 413, "The body is too large")
    WRONG_MEDIA_TYPE = ("wrong-media-type", 415, "The body must be sent as JSON")
    INVALID = ("invalid", 422, "The request has faults")
    LIMITS_CLASH = ("limits-clash", 422, "The limits contradict one another")
    BUSY = ("busy", 503, "The server is busy")
    NO_ANSWER = ("no-answer", 503, "The effort allowed was not enough to find any pass")
    NOT_INSTALLED = ("not-installed", 501, "A part that this needs is not installed on the server")
    INTERNAL = ("internal", 500, "The server failed")

    def __init__(self, word: str, status: int, title: str) -> None:
        self.word = word
        self.status = status
        self.title = title

    @property
    def urn(self) -> str:
        """The problem's type."""
        return f"urn:threepass:problem:{self.word}"


# A connection on which the rest of a body may still come is of no use for another request.
_HEADERS = {Kind.BUSY: {"retry-after": "1"}, Kind.TOO_SLOW: {"connection": "close"}}


class NotFoundError(Exception):
    """What the address names does not exist; the message says so."""


class NotInstalledError(Exception):
    """An optional part of the server is missing; the message says which."""


class ClashInsideError(Exception):
    """Limits of one part of a request contradict one another.

    Args:
        error: The clash.
        outer: The part that has the limits.
    """

    def __init__(self, error: ClashError, *outer: str | int) -> None:
        super().__init__(str(error))
        self.faults = [
            Fault("limit", (*outer, "limits", *(limit.name,)), limit.says) for limit in error.clashing
        ]


def pointer(place: Sequence[str | int]) -> str:
    """Return a place as a JSON pointer in a URI fragment (RFC 6901, section 6)."""
    return "#" + "".join("/" + _step(step) for step in place)


def _step(step: str | int) -> str:
    written = str(step)
    if len(written) > _MAX_STEP:
        written = written[:_MAX_STEP] + "…"
    escaped = written.replace("~", "~0").replace("/", "~1")
    return quote(escaped, safe="!$&'()*+,;=:@?-._~", errors="replace")


def _clean(detail: str) -> str:
    """Replace lone surrogates, which JSON may carry in and UTF-8 may not carry out."""
    return detail.encode("utf-8", "replace").decode("utf-8")


def items_of(faults: Sequence[Fault]) -> list[ProblemItem]:
    """Return faults as items of a problem: the first hundred, and how many more there are."""
    shown = list(faults[:MAX_ITEMS])
    if len(faults) > len(shown):
        shown.append(Fault("more", (), f"and {len(faults) - len(shown)} more faults"))
    return [
        ProblemItem(pointer=pointer(fault.place), detail=_clean(fault.detail), type=fault.kind)
        for fault in shown
    ]


def problem_response(
    kind: Kind,
    detail: str,
    request_id: str,
    faults: Sequence[Fault] = (),
    headers: Mapping[str, str] | None = None,
) -> Response:
    """Return the answer for a problem of a known kind."""
    body = Problem(
        type=kind.urn,
        title=kind.title,
        status=kind.status,
        detail=detail,
        request_id=request_id,
        errors=items_of(faults),
    )
    return _response(body, headers)


def _response(body: Problem, headers: Mapping[str, str] | None) -> Response:
    return Response(body.model_dump_json(), body.status, headers, MEDIA_TYPE)


def request_id_of(request: Request) -> str:
    """Return the request's id."""
    return str(request.scope["threepass.request_id"])


def _counted(faults: Sequence[Fault]) -> str:
    return "the request has a fault" if len(faults) == 1 else f"the request has {len(faults)} faults"


def _for_error(error: Exception) -> tuple[Kind, str, Sequence[Fault]]:
    """Return kind, detail and faults for an error that an operation may raise on purpose."""
    match error:
        case FaultyInputError():
            return Kind.INVALID, _counted(error.faults), error.faults
        case ClashError():
            return _for_error(ClashInsideError(error))
        case ClashInsideError():
            return Kind.LIMITS_CLASH, str(error), error.faults
        case NotJsonError():
            return Kind.NOT_JSON, str(error), ()
        case NotFoundError():
            return Kind.NOT_FOUND, str(error), ()
        case NotInstalledError():
            return Kind.NOT_INSTALLED, str(error), ()
        case BodyTooLargeError():
            return Kind.TOO_LARGE, str(error), ()
        case BodyTooSlowError():
            return Kind.TOO_SLOW, str(error), ()
        case WrongMediaTypeError():
            return Kind.WRONG_MEDIA_TYPE, str(error), ()
        case NoAnswerError():
            return Kind.NO_ANSWER, "no pass was found within the effort allowed: ask for more", ()
        case BusyError():
            return Kind.BUSY, "too many requests at the moment: try again shortly", ()
        case StoppedError():
            return Kind.BUSY, "the work was stopped", ()
    raise error


_OWN_ERRORS = (
    FaultyInputError,
    ClashError,
    ClashInsideError,
    NotJsonError,
    NotFoundError,
    NotInstalledError,
    BodyTooLargeError,
    BodyTooSlowError,
    WrongMediaTypeError,
    NoAnswerError,
    BusyError,
    StoppedError,
)


async def _own(request: Request, error: Exception) -> Response:
    kind, detail, faults = _for_error(error)
    return problem_response(kind, detail, request_id_of(request), faults, _HEADERS.get(kind))


async def _of_framework(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    words = {
        404: (Kind.NOT_FOUND, "there is nothing at this address"),
        405: (Kind.WRONG_METHOD, "see the header `allow` for the methods there are"),
    }
    if error.status_code in words:
        kind, detail = words[error.status_code]
        return problem_response(kind, detail, request_id_of(request), headers=error.headers)
    phrase = HTTPStatus(error.status_code).phrase
    body = Problem(
        type="about:blank",
        title=phrase,
        status=error.status_code,
        detail=str(error.detail),
        request_id=request_id_of(request),
        errors=[],
    )
    return _response(body, error.headers)


async def _of_parameters(request: Request, error: Exception) -> Response:
    """Answer for parameters in the address; bodies are read by `api.body`, never by the framework."""
    assert isinstance(error, RequestValidationError)
    faults = [
        Fault(item["type"].replace("_", "-"), tuple(item["loc"]), item["msg"]) for item in error.errors()
    ]
    return problem_response(Kind.INVALID, _counted(faults), request_id_of(request), faults)


def internal_response(request_id: str, error: Exception) -> Response:
    """Log an error nobody foresaw and return an answer that tells nothing of it."""
    _log.error("request %s failed", request_id, exc_info=error)
    detail = "something went wrong in the server; its log has more under this request id"
    return problem_response(Kind.INTERNAL, detail, request_id)


def add_problem_handlers(app: FastAPI) -> None:
    """Let every error foreseen be answered as a problem. The rest is caught by `api.envelope`."""
    for error in _OWN_ERRORS:
        app.add_exception_handler(error, _own)
    app.add_exception_handler(HTTPException, _of_framework)
    app.add_exception_handler(RequestValidationError, _of_parameters)
