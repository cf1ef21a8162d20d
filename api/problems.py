"""Problem details (RFC 9457): every answer that is not a success, and which error leads to which."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum
from urllib.parse import quote

from pydantic import Field

from api.reading import Answer, NotJsonError
from patterns.faults import MOST_FAULTS, Fault, FaultyInputError
from patterns.stopping import End, StoppedError
from solver.advice import ClashError
from solver.price import Price

MEDIA_TYPE = "application/problem+json"
# What a fault's `type` may be; more may come. First those of shape, which are pydantic's.
WORDS = (
    *("missing", "extra-forbidden", "model-type", "dict-type", "list-type", "tuple-type", "string-type"),
    *("int-type", "int-parsing", "float-type", "bool-type", "enum", "literal-error", "string-unicode"),
    *("finite-number", "less-than-equal", "greater-than-equal", "greater-than", "too-short", "too-long"),
    *("string-too-short", "string-too-long", "string-pattern-mismatch"),
    *("blind", "card-file", "card-type", "dear", "duplicate", "exchanges", "give", "joker", "limit"),
    *("limits-clash", "mixed-names", "more", "no-hand-left", "no-key", "no-target", "no-use", "not-held"),
    *("notation", "numbers", "range", "record-line", "round-order", "same-name", "tiles-type", "toml"),
    *("too-many-copies", "too-many-targets", "two-forms", "unknown-card", "unknown-name", "unknown-tile"),
    *("unknown-tiles", "unread", "where", "wrong-count", "other-card", "shares", "moment"),
)
_MAX_STEP = 60
_log = logging.getLogger("threepass.api")


@dataclass(frozen=True)
class Reply:
    """What is answered: status, body and headers of HTTP, but for the headers that any answer has."""

    status: int
    body: bytes
    media_type: str = "application/json"
    headers: Mapping[str, str] = field(default_factory=dict)

    @property
    def ok(self) -> bool:
        """Whether what was asked was done."""
        return 200 <= self.status < 300


@dataclass(frozen=True)
class Later:
    """An answer whose last step waits for a turn apart from all other work, and holds no thread meanwhile."""

    finish: Callable[[], Reply]


class Kind(Enum):
    """The sorts of problems: word, status and title."""

    NOT_HTTP = ("not-http", 400, "The request is not HTTP")
    NOT_JSON = ("not-json", 400, "The body is not JSON")
    NOT_FOUND = ("not-found", 404, "There is no such thing here")
    WRONG_METHOD = ("wrong-method", 405, "The method is not allowed here")
    TOO_SLOW = ("too-slow", 408, "The body took too long to come")
    TOO_LARGE = ("too-large", 413, "The body is too large")
    WRONG_MEDIA_TYPE = ("wrong-media-type", 415, "The body must be sent as JSON")
    LONG_HEAD = ("long-head", 431, "The head of the request is too long")
    OTHER_HOST = ("other-host", 421, "The service does not go by this name")
    INVALID = ("invalid", 422, "The request has faults")
    TOO_DEAR = ("too-dear", 422, "The request asks for too much work")
    LIMITS_CLASH = ("limits-clash", 422, "The limits contradict one another")
    OUT_OF_TIME = ("out-of-time", 503, "The work took too long")
    BUSY = ("busy", 503, "The server is busy")
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
_HEADERS: Mapping[Kind, Mapping[str, str]] = {
    Kind.BUSY: {"retry-after": "1"},
    Kind.TOO_SLOW: {"connection": "close"},
}


class ProblemItem(Answer):
    """One fault of the request."""

    pointer: str = Field(description="JSON pointer to the faulty part, as a URI fragment: `#/rack/12`")
    detail: str = Field(description="One sentence for people")
    type: str = Field(description="A stable word for programs", json_schema_extra={"enum": list(WORDS)})


class Problem(Answer):
    """Problem details."""

    type: str = Field(
        description="`urn:threepass:problem:` and a stable word",
        json_schema_extra={"enum": [kind.urn for kind in Kind]},
    )
    title: str = Field(description="The sort of problem in words")
    status: int = Field(description="The HTTP status", ge=400, le=599)
    detail: str = Field(description="What went wrong this time")
    request_id: str = Field(description="As in the header `x-request-id`")
    errors: list[ProblemItem] = Field(description="The faults, if the request has any that can be pointed at")


class ProblemError(Exception):
    """Something that is answered by a problem, with headers besides those that the kind has anyway."""

    def __init__(
        self, kind: Kind, detail: str, faults: Sequence[Fault] = (), headers: Mapping[str, str] | None = None
    ) -> None:
        super().__init__(detail)
        self.kind = kind
        self.detail = detail
        self.faults = faults
        self.headers = headers or {}


def clash_problem(error: ClashError, *outer: str | int) -> ProblemError:
    """Return the problem of limits that contradict one another, in the part of the request that has them."""
    faults = [Fault("limit", (*outer, "limits", limit.name), limit.says) for limit in error.clashing]
    return ProblemError(Kind.LIMITS_CLASH, str(error), faults)


def too_dear(price: Price, most: float) -> ProblemError:
    """Return the problem of a request that asks for too much work."""
    detail = f"this would take {price.units:,.0f} units of work, some microseconds each; at most {most:,.0f}"
    faults = [Fault("dear", place, says) for place, says in price.because]
    return ProblemError(Kind.TOO_DEAR, f"{detail} are done (THREEPASS_MOST_WORK): ask for less", faults)


def pointer(place: Sequence[str | int]) -> str:
    """Return a place as a JSON pointer in a URI fragment (RFC 6901, section 6)."""
    return "#" + "".join("/" + _step(step) for step in place)


def _step(step: str | int) -> str:
    written = str(step)
    if len(written) > _MAX_STEP:
        written = written[:_MAX_STEP] + "…"
    escaped = written.replace("~", "~0").replace("/", "~1")
    return quote(escaped, safe="!$&'()*+,;=:@?-._~", errors="replace")


def items_of(faults: Sequence[Fault]) -> list[ProblemItem]:
    """Return faults as items of a problem: the first hundred, and how many more there are."""
    shown = list(faults[:MOST_FAULTS])
    if len(faults) > len(shown):
        # Where reading stopped there may be more than were counted.
        why = f"; {faults[-1].detail}" if faults[-1].kind == "unread" else ""
        shown.append(Fault("more", (), f"and {len(faults) - len(shown)} more faults{why}"))
    # JSON may carry lone surrogates in, and UTF-8 may not carry them out.
    return [
        ProblemItem(
            pointer=pointer(fault.place),
            detail=fault.detail.encode("utf-8", "replace").decode(),
            type=fault.kind,
        )
        for fault in shown
    ]


def _foreseen(error: Exception) -> ProblemError | None:
    """Return the problem that an error stands for; None for one that is a defect."""
    match error:
        case ProblemError():
            return error
        case FaultyInputError(faults=faults):
            count = "a fault" if len(faults) == 1 else f"{len(faults)} faults"
            return ProblemError(Kind.INVALID, f"the request has {count}", faults)
        case ClashError():
            return clash_problem(error)
        case NotJsonError():
            return ProblemError(Kind.NOT_JSON, str(error))
        case StoppedError(end=End.TIME):
            detail = "the work was stopped when its time was over: ask for less, or let it take longer"
            return ProblemError(Kind.OUT_OF_TIME, f"{detail} (THREEPASS_LONGEST_SOLVE)")
        case StoppedError():
            return ProblemError(Kind.BUSY, f"the work was stopped: {error}")
    return None


def problem_reply(error: Exception, request_id: str) -> Reply:
    """Return the answer for an error; one that nobody foresaw is logged, and nothing of it is told."""
    problem = _foreseen(error)
    if problem is None:
        _log.error("request %s failed", request_id, exc_info=error)
        detail = "something went wrong in the server; its log has more under this request id"
        problem = ProblemError(Kind.INTERNAL, detail)
    kind = problem.kind
    body = Problem(
        type=kind.urn,
        title=kind.title,
        status=kind.status,
        detail=problem.detail,
        request_id=request_id,
        errors=items_of(problem.faults),
    )
    headers = {**_HEADERS.get(kind, {}), **problem.headers}
    return Reply(kind.status, body.model_dump_json().encode(), MEDIA_TYPE, headers)
