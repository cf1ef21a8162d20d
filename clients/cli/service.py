"""Asking the service, in this process or at a URL, and reading what it says.

Whatever asks or reads may be a `Failure` (UNREACHABLE): no answer, or not one of threepass.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

from clients.cli.output import Exit, Failure, say, write_body

if TYPE_CHECKING:
    from threepass import Problem

CARDS_FOLDER = "THREEPASS_CARDS"
_FOREIGN = "the answer is not one of threepass: is the URL right?"
# What a page raises that is made of an answer of another shape.
_OTHER_SHAPE = (LookupError, TypeError, ValueError, AttributeError, ArithmeticError)

Answer = Mapping[str, Any]


@dataclass(frozen=True)
class Reply:
    """One answer of the service: its status and its body as it came."""

    status: int
    body: bytes

    @property
    def ok(self) -> bool:
        """Whether the service did what was asked."""
        return 200 <= self.status < 300

    def read(self) -> dict[str, Any]:
        """Return the object in the body, an answer or a problem."""
        read = object_in(self.body)
        if read is None:
            raise Failure(Exit.UNREACHABLE, _FOREIGN)
        return read

    def answer(self) -> dict[str, Any]:
        """Return the answer in the body; a refusal is a `Failure`, with one line a fault."""
        if not self.ok:
            raise Failure(Exit.REFUSED, *self.faults())
        return self.read()

    def on_one_line(self) -> bytes:
        """Return the body for a line of JSON Lines: as it came, unless it has line ends in it."""
        answer = self.read()
        return self.body if b"\n" not in self.body else encoded(answer)

    def problem(self) -> Problem:
        """Return what a refusal says."""
        from threepass import Problem

        return Problem.read(self.status, self.body)

    def faults(self) -> list[str]:
        """Return one line a fault, such as ``rack: column 6: '3x' is not a tile``."""
        return self.problem().lines


_Ask = Callable[[str, bytes | None], Reply]


class Service:
    """The service at a URL, or, without one, the same in this process until the end of the block.

    It is begun by the first question. With a URL, an answer that lacks what the block looks for is taken for
    the sign of another program; what is no URL of a server is a `Failure` (USAGE).
    """

    def __init__(self, url: str | None) -> None:
        self.url = url
        self._begun = ExitStack()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *error: Any) -> None:
        self._begun.__exit__(*error)

    @cached_property
    def _way(self) -> _Ask:
        return self._begun.enter_context(_in_process() if self.url is None else _over_http(self.url))

    def ask(self, path: str, body: bytes | None = None) -> Reply:
        """Send a JSON body to a path below the base URL, or without one just ask."""
        return self._way(path, body)


def cards_folder() -> Path:
    """Return this person's folder of cards: what the environment names, or ``cards`` in their data folder."""
    from platformdirs import user_data_path

    return Path(os.environ.get(CARDS_FOLDER) or user_data_path("threepass", appauthor=False) / "cards")


@contextmanager
def _in_process() -> Iterator[_Ask]:
    # Loads the solver: half a second that a client of a server does not spend.
    from api.service import Service as Answering

    try:
        answering = Answering(cards=cards_folder())
    except ValueError as error:  # a setting in the environment is faulty
        raise Failure(Exit.UNREACHABLE, f"the service cannot start here: {error}") from None

    def ask(path: str, body: bytes | None) -> Reply:
        reply = answering.answer("GET" if body is None else "POST", path, body or b"")
        return Reply(reply.status, reply.body)

    with answering:
        yield ask


@contextmanager
def _over_http(server: str) -> Iterator[_Ask]:
    from threepass import Client, UnreachableError

    try:
        client = Client(server)
    except ValueError as error:
        raise Failure(Exit.USAGE, f"--server: {error}") from None

    def ask(path: str, body: bytes | None) -> Reply:
        try:
            answer = client.ask(path, body)
        except UnreachableError as error:
            raise Failure(Exit.UNREACHABLE, str(error)) from None
        return Reply(answer.status, answer.body)

    with client:
        try:
            yield ask
        except _OTHER_SHAPE:
            raise Failure(Exit.UNREACHABLE, _FOREIGN) from None


def encoded(value: Any) -> bytes:
    """Return a request as compact JSON, in ASCII."""
    return json.dumps(value, separators=(",", ":"), allow_nan=False).encode("ascii")


def decoded(content: bytes) -> Any:
    """Return the value that JSON text stands for.

    A ValueError is raised for what is not JSON, nested too deep, or has a number that no float can hold.
    """
    try:
        value = json.loads(content)
        encoded(value)  # which takes no such number
    except RecursionError as error:
        raise ValueError("nested too deep") from error
    return value


def object_in(content: bytes) -> dict[str, Any] | None:
    """Return the JSON object that a content is, or None if it is something else."""
    try:
        read = decoded(content)
    except ValueError:
        return None
    return read if isinstance(read, dict) else None


def show_answer(
    path: str,
    asked: Answer | bytes | None,
    as_json: bool,
    service: Service,
    text_of: Callable[[Answer], str],
    faults_of: Callable[[Reply], list[str]] = Reply.faults,
) -> dict[str, Any]:
    """Ask (without a body if nothing is to be sent), print the answer, and return it.

    It is printed as a page, where that has lines, or byte for byte. A refusal is a `Failure`; with
    ``as_json`` its body is printed before.
    """
    reply = service.ask(path, encoded(asked) if isinstance(asked, Mapping) else asked)
    if as_json:
        write_body(reply.body)
    if not reply.ok:
        raise Failure(Exit.REFUSED, *faults_of(reply))
    answer = reply.answer()
    if not as_json and (text := text_of(answer)):
        say(text)
    return answer
