"""Many racks: JSON Lines in, one answer a line out, in order, each as soon as it is known."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any, BinaryIO

from clients.cli.exits import INTERRUPTED, SOME_LINES_FAILED
from clients.cli.json_text import decoded
from clients.cli.output import write_bytes
from clients.cli.problems import not_threepass, object_of
from clients.cli.progress import Progress
from clients.cli.question import filled
from clients.cli.transport import Service

# More than any body the service takes: a longer line is cut here, and refused there.
MAX_LINE = 4_000_000


def answer_lines(stream: BinaryIO, options: Mapping[str, Any], service: Service) -> int:
    """Answer every line of a stream on stdout and return the exit code.

    A line is a request object, a JSON text (a rack), or faulty: then the service's own problem body is
    its answer, at the same place. A blank line is faulty too, so that the n-th answer is the n-th line's.

    Raises:
        UnreachableError: no answer; those that came before stay.
    """
    progress = Progress()
    try:
        for line in _lines(stream):
            reply = service.post("/v1/advice", body_of(line, options))
            answer = object_of(reply.body)
            if answer is None:
                raise not_threepass()
            write_bytes(on_one_line(reply.body, answer) + b"\n")
            progress.count(reply.ok)
    except KeyboardInterrupt:
        progress.end(interrupted=True)
        return INTERRUPTED
    progress.end()
    return SOME_LINES_FAILED if progress.failed else 0


def body_of(line: bytes, options: Mapping[str, Any]) -> bytes:
    """Return the request body for a line; one that is no rack and no object goes to the service as it is."""
    try:
        read = decoded(line)
    except ValueError:
        return line
    if isinstance(read, str):
        read = {"rack": read}
    if not isinstance(read, dict):
        return line
    return encoded(filled(read, options))


def encoded(question: Mapping[str, Any]) -> bytes:
    """Return a request as compact JSON."""
    return json.dumps(question, separators=(",", ":"), allow_nan=False).encode()


def _lines(stream: BinaryIO) -> Iterator[bytes]:
    while line := stream.readline(MAX_LINE):
        rest = line
        while not rest.endswith(b"\n") and (rest := stream.readline(MAX_LINE)):
            pass
        yield line.rstrip(b"\r\n")


def on_one_line(body: bytes, answer: Mapping[str, Any]) -> bytes:
    """Return a body as it came, unless it has line ends in it.

    Args:
        body: The body.
        answer: What it stands for.
    """
    return body if b"\n" not in body else encoded(answer)
