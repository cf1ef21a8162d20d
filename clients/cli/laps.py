"""Reviewing many laps: one request each, told in order as each is known, and the averages at the end."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Protocol

from clients.cli.exits import INTERRUPTED, SOME_LINES_FAILED
from clients.cli.held import held
from clients.cli.lines import encoded, on_one_line
from clients.cli.output import say, write_body, write_bytes
from clients.cli.problems import lines_of, not_threepass, object_of
from clients.cli.progress import Progress
from clients.cli.records import Entry
from clients.cli.render.layout import paragraph
from clients.cli.render.review import lap_text, session_text
from clients.cli.session import session_of
from clients.cli.transport import Reply, Service

Answer = Mapping[str, Any]
_ALONE = "records, item 1"
_NOT_JSON = "urn:threepass:problem:not-json"


class Telling(Protocol):
    """A way to tell laps."""

    def graded(self, first: int, place: str, reply: Reply, answer: Answer) -> None:
        """Tell the graded laps of one answer; laps are numbered on from ``first``."""

    def refused(self, place: str, reply: Reply, problem: Answer) -> None:
        """Tell why a record was refused."""

    def end(self, session: Answer | None) -> None:
        """Tell the averages; None when there was no lap."""


class AsText:
    """Pages for people; a refused record has its faults at its place."""

    def __init__(self) -> None:
        self._blocks = 0

    def graded(self, first: int, place: str, reply: Reply, answer: Answer) -> None:
        """Print the page of each lap."""
        for number, review in enumerate(answer["reviews"], first):
            self._say(lap_text(review, f"Lap {number} ({place})"))

    def refused(self, place: str, reply: Reply, problem: Answer) -> None:
        """Print the faults of a record."""
        faults = [line for fault in faults_of(reply) for line in paragraph(fault)]
        self._say("\n".join([f"Refused ({place})", *faults]))

    def end(self, session: Answer | None) -> None:
        """Print the averages of two laps or more."""
        if session is not None and session["laps"] > 1:
            self._say(session_text(session))

    def _say(self, text: str) -> None:
        say(f"\n{text}" if self._blocks else text)
        self._blocks += 1


class AsLines:
    """JSON Lines: the service's answer or problem for each record, and last ``{"session"}``, the averages."""

    def graded(self, first: int, place: str, reply: Reply, answer: Answer) -> None:
        """Write an answer as it came."""
        write_bytes(on_one_line(reply.body, answer) + b"\n")

    def refused(self, place: str, reply: Reply, problem: Answer) -> None:
        """Write a problem as it came."""
        write_bytes(on_one_line(reply.body, problem) + b"\n")

    def end(self, session: Answer | None) -> None:
        """Write the averages."""
        write_bytes(encoded({"session": session}) + b"\n")


class AsObject:
    """One JSON object in the shape of the service's answer, with problems in the place of reviews."""

    def __init__(self) -> None:
        self._reviews: list[Answer] = []

    def graded(self, first: int, place: str, reply: Reply, answer: Answer) -> None:
        """Keep the reviews."""
        self._reviews += answer["reviews"]

    def refused(self, place: str, reply: Reply, problem: Answer) -> None:
        """Keep a problem."""
        self._reviews.append(problem)

    def end(self, session: Answer | None) -> None:
        """Write them all."""
        write_body(encoded({"reviews": self._reviews, "session": session}))


def review_laps(entries: Iterable[Entry], service: Service, telling: Telling) -> int:
    """Have laps graded one by one and return the exit code. An interruption keeps those that are done.

    Raises:
        UnreachableError: no answer; laps that came before stay.
    """
    progress = Progress(one="lap", done="reviewed")
    done: list[Answer] = []
    code = 0
    try:
        for entry in entries:
            reply = service.post("/v1/reviews", entry.body)
            answer = object_of(reply.body)
            if answer is None:
                raise not_threepass()
            # What is told is counted too, whenever the interruption comes.
            with held():
                if reply.ok:
                    _tell(reply, answer, entry.place, telling, done)
                else:
                    telling.refused(entry.place, reply, answer)
                progress.count(reply.ok)
    except KeyboardInterrupt:
        code = INTERRUPTED
    telling.end(session_of(done) if done else None)
    progress.end(interrupted=code == INTERRUPTED)
    return code or (SOME_LINES_FAILED if progress.failed else 0)


def _tell(reply: Reply, answer: Answer, place: str, telling: Telling, done: list[Answer]) -> None:
    try:
        session_of(answer["reviews"])  # so that nothing is printed of what has another shape
        telling.graded(len(done) + 1, place, reply, answer)
    except (LookupError, TypeError, ValueError, AttributeError, ArithmeticError):
        raise not_threepass() from None
    done += answer["reviews"]


def faults_of(reply: Reply) -> list[str]:
    """Return one line a fault of a record that was sent alone, without naming it as the first."""
    problem = object_of(reply.body) or {}
    what = "not JSON: " if problem.get("type") == _NOT_JSON else ""
    return [
        what + line.removeprefix(_ALONE).removeprefix(", ").removeprefix(": ") for line in lines_of(reply)
    ]
