"""Many requests in one, a line each: their shape, and how a line is read and written."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field, SkipValidation

from api.operations import NDJSON, Task, bounded, itself, operation
from api.problems import Kind, Later, ProblemError, Reply, problem_reply
from api.reading import Answer, Request, parse_json, read_shape
from patterns.faults import Fault, FaultyInputError
from patterns.stopping import Stopper

if TYPE_CHECKING:
    from api.service import Service

MAX_LINES = 10_000
MAX_ID = 100
Id = Annotated[str, Field(max_length=MAX_ID)] | Annotated[int, Field(ge=-(2**53), le=2**53)]


class BatchLine(Request):
    """One request: a line of a batch."""

    id: Id | None = Field(None, description="Comes back with the answer")
    path: str = Field("/v1/advice", max_length=200, description="The address of the operation")
    body: SkipValidation[dict[str, Any] | None] = Field(
        None, description="What is sent to it; absent where it takes none"
    )


class BatchAnswer(Answer):
    """One answer: a line as well, in the order of the requests."""

    line: int = Field(description="Number of the line that is answered, from 1")
    id: str | int | None = Field(description="As in the request")
    status: int = Field(description="As the operation would answer by itself")
    body: dict[str, Any] = Field(description="The same: an answer, or a problem")


@operation("/v1/batches", BatchLine, reads=itself, price=bounded, gives=BatchAnswer, lines=True)
def batches(task: Task) -> Reply:
    """Many requests in one, a line of JSON each, answered in order as each is known.

    The body is lines of JSON (`application/x-ndjson`), at most 10,000, each a request of any operation that
    answers in JSON. A faulty line is answered at its place, and the others are answered. Lines may be sent
    while answers are read; up to the largest body of a single request is read ahead of the answers.
    """
    assert isinstance(task.written, bytes)
    lines = task.written.removesuffix(b"\n").split(b"\n") if task.written else []
    if len(lines) > MAX_LINES:
        raise FaultyInputError([Fault("too-long", (), f"a batch has at most {MAX_LINES:,} lines")])
    return Reply(200, b"".join(task.line(number, line) for number, line in enumerate(lines, 1)), NDJSON)


def answer_line(service: Service, number: int, line: bytes, request_id: str, stopper: Stopper) -> bytes:
    """Return the line that answers one line of a batch, given its place from 1 and without its end."""
    name = None
    try:
        if len(line) > service.settings.body_limit:
            raise ProblemError(Kind.TOO_LARGE, f"at most {service.settings.body_limit} bytes are taken")
        asked = read_shape(BatchLine, parse_json(line))
        name = asked.id
        operation, named = service.find("GET" if asked.body is None else "POST", asked.path)
        if operation.lines or operation.files:
            raise FaultyInputError([Fault("no-use", ("path",), "it answers with a file: ask it by itself")])
        reply = service.do(operation, named, asked.body, request_id, stopper)
        assert not isinstance(reply, Later)
    except Exception as error:
        reply = problem_reply(error, request_id)
    return written_line(number, name, reply)


def written_line(number: int, name: str | int | None, reply: Reply) -> bytes:
    """Return the line for an answer."""
    start = json.dumps({"line": number, "id": name, "status": reply.status})
    return start[:-1].encode() + b', "body": ' + reply.body + b"}\n"
