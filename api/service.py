"""The service: one function from a request's bytes to an answer's, without a server or an event loop."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import cache, partial
from importlib import import_module
from math import inf
from pkgutil import iter_modules
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
from patterns.faults import FaultyInputError
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
    from api import answers
    from api.operations import declared

    for module in iter_modules(answers.__path__, "api.answers."):
        import_module(module.name)
    return declared()


def _about() -> tuple[Operation, ...]:
    """Return the operations that describe the others: for programs, and for people."""
    from api.operations import Operation, bounded, itself, readable
    from api.problems import Reply

    policy = {
        "content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"
    }
    page = cache(lambda: Reply(200, readable(describe()).encode(), "text/html; charset=utf-8", policy))
    written = cache(lambda: Reply(200, json.dumps(describe()).encode()))
    people = ("/docs", "describe_in_words", lambda _: page(), itself, bounded)
    return (
        Operation("/openapi.json", "describe", lambda _: written(), itself, bounded, at_once=True),
        Operation(*people, at_once=True, files=("text/html",)),
    )


class Service:
    """Answers requests, one at a time in each thread that asks; safe to use from many threads.

    Settings are by default those of the environment; a FaultySettingsError if they cannot be read. Who asks
    in a process of their own then has ten minutes for a request, as nobody else waits for it. `cards` is a
    folder of more cards, where the settings name none.
    """

    def __init__(self, settings: Settings | None = None, cards: Path | None = None) -> None:
        from api.answers.cards import CardShelf
        from api.settings import Settings

        self.settings = settings or Settings.from_environment(longest_solve=600)
        self.operations: Sequence[Operation] = (*_operations(), *_about())
        self._cards = CardShelf(self.settings.kept_cards, self.settings.cards or cards)

    def __enter__(self) -> Self:
        """Let an answer have one core.

        Products shared out over cores that other answers use take longer, not less long, and their last
        digits may hang on how many cores there are.
        """
        self._one_core = threadpool_limits(limits=1, user_api="blas")
        return self

    def __exit__(self, *_: object) -> None:
        """Let others have as many as before."""
        self._one_core.restore_original_limits()

    def answer(self, method: str, path: str, body: bytes = b"") -> Reply:
        """Answer one request to an address as it stands in a URL, such as ``/v1/advice``.

        What a client does is never an exception: the answer may be the problem that says what is wrong.
        """
        from api.problems import Later, problem_reply

        request_id = uuid4().hex
        try:
            operation, named = self.find(method, unquote(path.partition("?")[0], errors="replace"))
            made = self.respond(operation, named, body, request_id, Stopper())
            return self.finish(made, Stopper()) if isinstance(made, Later) else made
        except Exception as error:
            return problem_reply(error, request_id)

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
        self, operation: Operation, named: dict[str, str], body: bytes, request_id: str, stopper: Stopper
    ) -> Reply | Later:
        """Do an operation, with the parts of the address and the body; the stopper may end it early.

        Raises what `problem_reply` makes a problem of, and so does `finish`.
        """
        from api.reading import parse_json

        written = None if operation.takes is None else body if operation.lines else parse_json(body)
        return self.do(operation, named, written, request_id, stopper)

    def finish(self, later: Later, stopper: Stopper) -> Reply:
        """Do the last step of an operation."""
        with stopper.running(self.settings.longest_solve):
            return later.finish()

    def do(
        self, operation: Operation, named: dict[str, str], written: object, request_id: str, stopper: Stopper
    ) -> Reply | Later:
        """Do the same with the body as it was read."""
        from api.answers.batches import answer_line
        from api.operations import Task
        from api.problems import Later, Reply

        line = partial(answer_line, self, request_id=request_id, stopper=stopper)
        # Each line of a batch has a time of its own.
        with stopper.running(inf if operation.lines else self.settings.longest_solve):
            check_stop()
            made = operation.do(Task(self._cards, written, named, line), self.settings.most_work)
            if isinstance(made, Reply | Later):
                return made
            return Reply(200, made.model_dump_json(by_alias=True).encode())


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
    """Return tiles' tokens in the fixed order of kinds; ValueError if one is no tile's."""
    return [tile.value for tile in words.in_order(map(Tile, tokens))]


def pass_faults(round_: str, given: Iterable[str], blind: int, held: Iterable[str]) -> list[str]:
    """Return what the rules do not allow of a pass, a line each; ValueError for an unknown token."""
    tiles, rack = (Counter(map(Tile, tokens)) for tokens in (given, held))
    return [fault.detail for fault in rounds.pass_faults(Round(round_), tiles, blind, rack)]


def tile_words(token: str) -> str:
    """Return a tile's token in words: ``4c`` is ``4 crak``; ValueError if it is no tile's."""
    return Tile(token).word


def round_words(round_: str) -> str:
    """Return a round's token in words: ``first_right`` is ``First right``; ValueError if it is no round's."""
    return words.round_words(Round(round_))
