"""The service: one function from a request's bytes to an answer's, without a server or an event loop."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from contextlib import ExitStack
from functools import cache
from math import inf
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self
from urllib.parse import unquote
from uuid import uuid4

from threadpoolctl import threadpool_limits

from api import words
from api.session import Figures as Figures
from api.session import session_of as session_of
from api.words import TRAITS as TRAITS
from api.words import clock as clock
from api.words import counted as counted
from api.words import fine as fine
from api.words import percent as percent
from patterns.faults import Fault, FaultyInputError
from patterns.rack import parse_tiles
from patterns.stopping import Stopper, check_stop
from patterns.tiles import Tile
from solver import rounds
from solver.limits import LIMITS as LIMITS
from solver.limits import Limit as Limit
from solver.limits import Sort as Sort
from solver.rounds import MAX_EXCHANGES as MAX_EXCHANGES
from solver.rounds import ORDER, RULES, Round
from solver.rounds import PASS_SIZE as PASS_SIZE

if TYPE_CHECKING:
    from pathlib import Path

    from api.operations import Operation
    from api.problems import Later, Reply
    from api.settings import Settings

# Names of the rounds in the order of play, and of those in which incoming tiles may go on unseen.
ROUNDS = tuple(round_.value for round_ in ORDER)
BLIND_ALLOWED = tuple(round_.value for round_ in ORDER if RULES[round_].blind)


def _operations() -> tuple[Operation, ...]:
    # Loads the solver: half a second that a client of a server does not spend.
    from api.answers import advice, ahead, batches, cards, deals, fits, question, reviews, sheets  # noqa: F401
    from api.operations import declared

    return declared()


def _about(operations: Sequence[Operation]) -> tuple[Operation, ...]:
    """Return the operations that describe the others: for programs, and for people."""
    from api.operations import Operation, bounded, description, itself, readable
    from api.problems import Reply

    described = cache(lambda: description(operations))
    policy = {
        "content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"
    }
    page = cache(lambda: Reply(200, readable(described()).encode(), "text/html; charset=utf-8", policy))
    written = cache(lambda: Reply(200, json.dumps(described()).encode()))
    return (
        Operation(
            *("/openapi.json", "describe", "health", "This description", "Return what this says."),
            *(lambda _: written(), itself, bounded),
            at_once=True,
        ),
        Operation(
            *("/docs", "describe_in_words", "health", "This description, to read", "Return what this says."),
            *(lambda _: page(), itself, bounded),
            at_once=True,
            files=("text/html",),
        ),
    )


class Service:
    """Answers requests, one at a time in each thread that asks; safe to use from many threads.

    Args:
        settings: Settings; by default those of the environment. Who asks in a process of their own then has
            ten minutes for a request, as nobody else waits for it.
        cards: Folder of more cards, where the settings name none.

    Raises:
        FaultySettingsError: settings in the environment that cannot be read (a ValueError).
    """

    def __init__(self, settings: Settings | None = None, cards: Path | None = None) -> None:
        from api.answers.cards import CardShelf
        from api.settings import Settings

        self.settings = settings or Settings.from_environment(longest_solve=600)
        described = _operations()
        self.operations: Sequence[Operation] = (*described, *_about(described))
        self._cards = CardShelf(self.settings.kept_cards, self.settings.cards or cards)
        self._held = ExitStack()

    def __enter__(self) -> Self:
        """Let an answer have one core.

        Products shared out over cores that other answers use take longer, not less long, and their last
        digits may hang on how many cores there are.
        """
        self._held.enter_context(threadpool_limits(limits=1, user_api="blas"))
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Let go of what was held."""
        self._held.close()

    def answer(self, method: str, path: str, body: bytes = b"") -> Reply:
        """Answer one request.

        Args:
            method: ``GET`` or ``POST``.
            path: The address as it stands in a URL, such as ``/v1/advice``.
            body: The body.

        Returns:
            A success, or the problem that says what is wrong; what a client does is never an exception.
        """
        from api.problems import Later, problem_reply

        request_id = uuid4().hex
        try:
            operation, named = self.find(method, unquote(path.partition("?")[0], errors="replace"))
        except Exception as error:
            return problem_reply(error, request_id)
        made = self.respond(operation, named, body, request_id)
        return self.finish(made, request_id) if isinstance(made, Later) else made

    def find(self, method: str, path: str) -> tuple[Operation, dict[str, str]]:
        """Return the operation at an address, and the parts of the address it names.

        Raises:
            ProblemError: there is nothing at the address, or not for that method.
        """
        from api.problems import Kind, ProblemError

        there = [
            (operation, named)
            for operation in self.operations
            if (named := operation.match(path)) is not None
        ]
        # An address that is written out is not a card's name too.
        there = [each for each in there if not each[1]] or there
        for operation, named in there:
            if method == operation.method or (method == "HEAD" and operation.method == "GET"):
                return operation, named
        if not there:
            raise ProblemError(Kind.NOT_FOUND, "there is nothing at this address")
        allowed = ", ".join(operation.method for operation, _ in there)
        detail = f"{allowed} is the method for this address"
        raise ProblemError(Kind.WRONG_METHOD, detail, headers={"allow": allowed})

    def respond(
        self,
        operation: Operation,
        named: dict[str, str],
        body: bytes,
        request_id: str,
        stopper: Stopper | None = None,
    ) -> Reply | Later:
        """Do an operation.

        Args:
            operation: The operation.
            named: Parts of the address.
            body: The body; not looked at where the operation takes none.
            request_id: Names the request in a problem and in the log.
            stopper: Ends the work on request from another thread.
        """
        from api.reading import parse_json

        def read() -> object:
            return None if operation.takes is None else body if operation.lines else parse_json(body)

        return self._done(operation, named, read, request_id, stopper or Stopper())

    def finish(self, later: Later, request_id: str, stopper: Stopper | None = None) -> Reply:
        """Do the last step of an operation.

        Args:
            later: The step.
            request_id: Names the request in a problem and in the log.
            stopper: Ends the work on request from another thread.
        """
        from api.problems import problem_reply

        try:
            with (stopper or Stopper()).running(self.settings.longest_solve):
                return later.finish()
        except Exception as error:
            return problem_reply(error, request_id)

    def line(self, number: int, line: bytes, request_id: str, stopper: Stopper) -> bytes:
        """Answer one line of a batch.

        Args:
            number: Its place, from 1.
            line: The line, without its end.
            request_id: Names the batch in a problem and in the log.
            stopper: Ends the work on request from another thread.

        Returns:
            The line that answers it.
        """
        from api.answers.batches import read_line, written_line
        from api.problems import Kind, Later, ProblemError, problem_reply

        name = None
        try:
            if len(line) > self.settings.body_limit:
                raise ProblemError(Kind.TOO_LARGE, f"at most {self.settings.body_limit} bytes are taken")
            asked = read_line(line)
            name = asked.id
            operation, named = self.find("GET" if asked.body is None else "POST", asked.path)
            if operation.lines or operation.files:
                raise FaultyInputError(
                    [Fault("no-use", ("path",), "it answers with a file: ask it by itself")]
                )
            reply = self._done(operation, named, lambda: asked.body, request_id, stopper)
            assert not isinstance(reply, Later)
        except Exception as error:
            reply = problem_reply(error, request_id)
        return written_line(number, name, reply)

    def _done(
        self,
        operation: Operation,
        named: dict[str, str],
        read: Callable[[], object],
        request_id: str,
        stopper: Stopper,
    ) -> Reply | Later:
        from api.operations import Task
        from api.problems import Later, Reply, problem_reply

        def line(number: int, line: bytes) -> bytes:
            stopper.check()
            return self.line(number, line, request_id, stopper)

        try:
            # Each line of a batch has a time of its own.
            with stopper.running(inf if operation.lines else self.settings.longest_solve):
                check_stop()
                made = operation.do(Task(self._cards, read(), named, line), self.settings.most_work)
                if isinstance(made, Reply | Later):
                    return made
                return Reply(200, made.model_dump_json(by_alias=True).encode())
        except Exception as error:
            return problem_reply(error, request_id)


def describe() -> dict[str, Any]:
    """Return the description of the service (OpenAPI 3.1)."""
    from api.operations import description

    return description(_operations())


def read_tiles(text: str) -> tuple[list[str], list[str]]:
    """Return the tokens of the tiles in a text, as they were written, and its faults, a line each."""
    try:
        return [tile.value for tile in parse_tiles(text)], []
    except FaultyInputError as error:
        return [], [fault.detail for fault in error.faults]


def in_order(tokens: Iterable[str]) -> list[str]:
    """Return tiles' tokens in the fixed order of kinds.

    Raises:
        ValueError: one is no tile's token.
    """
    return [tile.value for tile in words.in_order(map(Tile, tokens))]


def pass_faults(round_: str, given: Iterable[str], blind: int, held: Iterable[str]) -> list[str]:
    """Return what the rules do not allow of a pass, a line each.

    Raises:
        ValueError: a token is no tile's or no round's.
    """
    tiles, rack = (Counter(map(Tile, tokens)) for tokens in (given, held))
    return [fault.detail for fault in rounds.pass_faults(Round(round_), tiles, blind, rack)]


def tile_words(token: str) -> str:
    """Return a tile's token in words: ``4c`` is ``4 crak``.

    Raises:
        ValueError: it is no tile's token.
    """
    return Tile(token).word


def round_words(round_: str) -> str:
    """Return a round's token in words: ``first_right`` is ``First right``.

    Raises:
        ValueError: it is no round's token.
    """
    return words.round_words(Round(round_))
