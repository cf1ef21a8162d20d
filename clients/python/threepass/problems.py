"""What goes wrong: a problem that the service answers with (RFC 9457), or no answer of the service at all."""

from __future__ import annotations

import re
from typing import Self
from urllib.parse import unquote

from pydantic import BaseModel, ConfigDict, ValidationError

_CLASH = "urn:threepass:problem:limits-clash"


class Answer(BaseModel):
    """Something the service says. Members that later versions add are kept, as attributes too."""

    model_config = ConfigDict(extra="allow", frozen=True, populate_by_name=True)


class Fault(Answer):
    """One fault of a request: a JSON pointer, a sentence for people, and a stable word."""

    pointer: str = ""
    detail: str = ""
    type: str = ""

    @property
    def line(self) -> str:
        """The place and what is wrong there, on one line."""
        place, detail = place_of(self.pointer), _one_line(self.detail)
        return f"{place}: {detail}" if place else detail


class Problem(Answer):
    """What the service says of a request that it refuses; what a body does not tell is empty."""

    type: str = ""
    title: str = ""
    status: int = 0
    detail: str = ""
    request_id: str = ""
    errors: list[Fault] = []

    @classmethod
    def read(cls, status: int, body: bytes) -> Self:
        """Return the problem in a body; of a body that is none, only the status is known."""
        try:
            return cls.model_validate_json(body)
        except ValidationError:
            return cls(status=status, detail=f"the server answered {status}")

    @property
    def lines(self) -> list[str]:
        """One line a fault, such as ``rack: column 6: '3x' is not a tile``."""
        lines = [fault.line for fault in self.errors]
        if self.type == _CLASH:
            # Each of these is a limit, none of them a fault by itself.
            lines.insert(0, "no pass keeps all of these limits:")
        return lines or [_one_line(self.detail or self.title)]


class ProblemError(Exception):
    """The service refused: its problem, and a message with a line for each fault."""

    def __init__(self, problem: Problem) -> None:
        super().__init__("\n".join(problem.lines))
        self.problem = problem


class UnreachableError(Exception):
    """No service answered, or what answered is not one of threepass."""


def place_of(pointer: str) -> str:
    """Return a JSON pointer (RFC 6901, as a URI fragment) in words: ``#/seen/2`` is ``seen, item 3``."""
    steps = [
        unquote(step).replace("~1", "/").replace("~0", "~")
        for step in pointer.removeprefix("#").split("/")[1:]
    ]
    if steps[:1] == ["card"]:
        # The detail of a card's fault names the file, the line and the hand itself.
        return "card"
    if steps[:1] == ["text"]:
        # That of a text's fault names its line.
        return ""
    return ", ".join(f"item {int(step) + 1}" if re.fullmatch("[0-9]{1,6}", step) else step for step in steps)


def _one_line(text: str) -> str:
    return " ".join(text.split())
