"""The client: every operation of the service once, for a client that waits and for one that is awaited."""

from __future__ import annotations

import asyncio
import json
import os
import socket
import subprocess
import sys
import time
import weakref
from collections.abc import Awaitable, Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import update_wrapper
from types import MethodType
from typing import Any, Concatenate, Generic, Literal, ParamSpec, Self, TypeVar, Unpack, overload
from urllib.parse import quote

import httpx2
from pydantic import TypeAdapter, ValidationError

from threepass import answers
from threepass.problems import Problem, ProblemError, UnreachableError

JSON, NDJSON = "application/json", "application/x-ndjson"
_BATCHES = "/v1/batches"
_CONNECT_SECONDS, _ANSWER_SECONDS = 5.0, 120.0
_HERE = ("127.0.0.1", "localhost", "::1")
_TRIES = 4
_BUSY = 503
# Seconds that a busy service may ask to wait; any longer is for the caller to decide.
_WAITS = {str(seconds) for seconds in range(11)}
_LONGEST_START, _LONGEST_END, _LOOK = 60.0, 30.0, 0.05
_SERVE = ("-P", "-m", "clients.cli.main", "serve", "--until-input-ends", "--port")
P = ParamSpec("P")
T = TypeVar("T")


@dataclass(frozen=True)
class Reply:
    """One answer of the service: its status and its body as it came."""

    status: int
    body: bytes


@dataclass(frozen=True)
class Call(Generic[T]):
    """One request: where it goes, its body, and how the body of a success is read."""

    path: str
    read: Callable[[bytes], T]
    body: bytes | None = None

    def answer(self, reply: Reply) -> T:
        """Return what a reply says; a refusal is a `ProblemError`, what is not of threepass none at all."""
        if not 200 <= reply.status < 300:
            raise ProblemError(Problem.read(reply.status, reply.body))
        try:
            return self.read(reply.body)
        except ValidationError:
            raise UnreachableError("the answer is not one of threepass: is the URL right?") from None


class Operation(Generic[P, T]):
    """An operation of the service as a method: one that answers, of an `AsyncClient` one to await."""

    def __init__(self, call: Callable[Concatenate[Any, P], Call[T]]) -> None:
        self._call = call
        self.__doc__ = call.__doc__

    @overload
    def __get__(self, client: None, owner: type) -> Self: ...
    @overload
    def __get__(self, client: Client, owner: type) -> Callable[P, T]: ...
    @overload
    def __get__(self, client: AsyncClient, owner: type) -> Callable[P, Awaitable[T]]: ...
    def __get__(self, client: Any, owner: type) -> Any:
        """Return the method of a client."""
        if client is None:
            return self
        call = MethodType(self._call, client)
        return update_wrapper(lambda *given, **named: client.send(call(*given, **named)), call)


def _asked(path: str, answer: type[T], body: Mapping[str, Any] | None = None) -> Call[T]:
    return Call(path, TypeAdapter(answer).validate_json, None if body is None else json.dumps(body).encode())


class Operations:
    """Every operation, by its name in the description of the service, which tells more of each."""

    @Operation
    def advice(
        self, rack: answers.Tiles, round: answers.Round, **more: Unpack[answers.AboutAdvice]
    ) -> Call[answers.Advice]:
        """The best pass for a rack, with proof, runners-up and what each hand stands at."""
        return _asked("/v1/advice", answers.Advice, {"rack": rack, "round": round, **more})

    @Operation
    def votes(self, rack: answers.Tiles, **more: Unpack[answers.AboutVote]) -> Call[answers.Vote]:
        """Stop after the first Charleston, or go on?"""
        return _asked("/v1/votes", answers.Vote, {"rack": rack, **more})

    @Operation
    def plans(
        self, rack: answers.Tiles, round: answers.Round, **more: Unpack[answers.AboutPlan]
    ) -> Call[answers.Plan]:
        """What goes now, and what goes next."""
        return _asked("/v1/plans", answers.Plan, {"rack": rack, "round": round, **more})

    @Operation
    def reviews(self, **more: Unpack[answers.AboutReviews]) -> Call[answers.Reviews]:
        """Grades for recorded Charlestons, of `records` or of `text`."""
        return _asked("/v1/reviews", answers.Reviews, more)

    @Operation
    def check_records(self, **more: Unpack[answers.AboutReviews]) -> Call[answers.CheckedRecords]:
        """Every fault of records, and the records that a text stands for."""
        return _asked("/v1/records/check", answers.CheckedRecords, more)

    @Operation
    def progress(
        self, passes: Sequence[Mapping[str, Any]], now: str, more_than: float = 0.03
    ) -> Call[answers.Progress]:
        """Where a player loses, and what to play again; passes of reviews' `kept`, with `at` and `card`."""
        body = {"passes": passes, "now": now, "more_than": more_than}
        return _asked("/v1/progress", answers.Progress, body)

    @Operation
    def classes(
        self, pupils: Mapping[str, Sequence[Mapping[str, Any]]], files: bool = False
    ) -> Call[answers.Class]:
        """Who passed what from the same racks; by each pupil's name, passes as `progress` takes them."""
        return _asked("/v1/classes", answers.Class, {"pupils": pupils, "files": files})

    @Operation
    def deals(self, seed: int, **more: Unpack[answers.AboutDeals]) -> Call[answers.Deals]:
        """Racks from a seed, by measured difficulty."""
        return _asked("/v1/deals", answers.Deals, {"seed": seed, **more})

    @Operation
    def compositions(self, seed: int, **more: Unpack[answers.AboutCompositions]) -> Call[answers.Deals]:
        """Racks made for a lesson: so far from hands, with given tiles, each unlike the others."""
        return _asked("/v1/compositions", answers.Deals, {"seed": seed, **more})

    @Operation
    def tables(self, seed: int, **more: Unpack[answers.AboutTable]) -> Call[answers.Table]:
        """A table of three careful players to practice at, after your passes."""
        return _asked("/v1/tables", answers.Table, {"seed": seed, **more})

    @Operation
    def sheets(self, **more: Unpack[answers.AboutSheet]) -> Call[answers.Sheets]:
        """Problems and their key, from a `seed` or of `racks`."""
        return _asked("/v1/sheets", answers.Sheets, more)

    @Operation
    def sheet_pages(
        self,
        sheet: answers.Sheet,
        format: Literal["html", "pdf", "csv"],
        part: Literal["problems", "key"],
        paper: Literal["letter", "a4"] = "letter",
        heading: Sequence[str] = (),
    ) -> Call[bytes]:
        """One part of a sheet as a file; a heading has up to three lines."""
        written = sheet.model_dump(mode="json", by_alias=True)
        body = {"sheet": written, "format": format, "part": part, "paper": paper, "heading": list(heading)}
        return Call("/v1/sheets/pages", bytes, json.dumps(body).encode())

    @Operation
    def batches(self, lines: Iterable[answers.Line]) -> Call[list[answers.AnsweredLine]]:
        """Many requests in one, answered in their order; a faulty one by the problem it would get alone.

        All lines are sent before an answer is read, so they may have no more bytes than the service takes in
        one body (1 MiB, if nothing else is set). A batch that was broken off ends with the problem that says
        why, and has fewer answers than lines.
        """
        body = b"".join(json.dumps(line).encode() + b"\n" for line in lines)
        return Call(_BATCHES, _lines, body)

    @Operation
    def list_cards(self) -> Call[answers.Cards]:
        """The cards that the service knows by name."""
        return _asked("/v1/cards", answers.Cards)

    @Operation
    def show_card(self, name: str) -> Call[answers.WholeCard]:
        """One of them, with its hands."""
        return _asked(f"/v1/cards/{quote(name, safe='')}", answers.WholeCard)

    @Operation
    def check_card(self, card: answers.Card) -> Call[answers.CheckedCard]:
        """Every fault of a card, and the hands that are right."""
        return _asked("/v1/cards/check", answers.CheckedCard, {"card": card})

    @Operation
    def fit_games(
        self, card: answers.Card = "full", seed: int = 0, start: int = 0, count: int = 1
    ) -> Call[answers.FitGames]:
        """Simulated games for the fit of a card, numbered; a few at a time."""
        body = {"card": card, "seed": seed, "start": start, "count": count}
        return _asked("/v1/fits/games", answers.FitGames, body)

    @Operation
    def fits(
        self, games: Sequence[Mapping[str, Any]], card: answers.Card = "full", seed: int = 0
    ) -> Call[answers.Fits]:
        """The fit of a card, from its games."""
        return _asked("/v1/fits", answers.Fits, {"games": list(games), "card": card, "seed": seed})

    @Operation
    def list_limits(self) -> Call[answers.Limits]:
        """The limits that a request may set, and the traits of hands."""
        return _asked("/v1/limits", answers.Limits)

    @Operation
    def alive(self) -> Call[answers.Alive]:
        """Does the service live?"""
        return _asked("/livez", answers.Alive)

    @Operation
    def ready(self) -> Call[answers.Ready]:
        """Can it solve?"""
        return _asked("/readyz", answers.Ready)


def _lines(body: bytes) -> list[answers.AnsweredLine]:
    return [answers.AnsweredLine.model_validate_json(line) for line in body.splitlines()]


class _Asking(Operations):
    """What both clients have: where the service is, whether to ask again, and a service of one's own."""

    def __init__(self, server: str) -> None:
        try:
            url = httpx2.URL(server)
        except (httpx2.InvalidURL, ValueError):
            url = httpx2.URL("")
        if url.scheme not in ("http", "https") or not url.host or url.query or url.fragment:
            raise ValueError(f"not the URL of a server (such as http://127.0.0.1:8347): {server!r}")
        self.server = server.rstrip("/")
        # A proxy that the environment names does not lead to this machine.
        self._http_options: dict[str, Any] = {
            "timeout": httpx2.Timeout(_ANSWER_SECONDS, connect=_CONNECT_SECONDS),
            "trust_env": url.host not in _HERE,
        }
        self._own: _OwnService | None = None

    @classmethod
    def local(cls) -> Self:
        """Start a service of its own on this machine, which ends when the client is closed or goes away.

        The package that has the service must be installed. The first request waits until it is up.
        """
        own = _OwnService()
        client = cls(f"http://127.0.0.1:{own.port}")
        client._own = own
        weakref.finalize(client, own.end)
        return client

    def _request(self, path: str, body: bytes | None) -> dict[str, Any]:
        """Return a request: without a body a question of GET."""
        headers = {"accept": JSON}
        if body is not None:
            headers["content-type"] = NDJSON if path == _BATCHES else JSON
        method = "GET" if body is None else "POST"
        return {"method": method, "url": self.server + path, "content": body, "headers": headers}

    def _after(self, came: httpx2.Response | httpx2.TransportError, tried: int) -> Reply | float:
        """Return the answer that came, or the seconds to wait before asking again."""
        if isinstance(came, httpx2.Response):
            asked = came.headers.get("retry-after", "")
            again = came.status_code == _BUSY and asked in _WAITS and tried < _TRIES
            return float(asked) if again else Reply(came.status_code, came.content)
        if self._own is not None and isinstance(came, httpx2.ConnectError) and self._own.starting():
            return _LOOK
        raise UnreachableError(f"no answer from {self.server}: {str(came) or type(came).__name__}")


class _OwnService:
    """A process that serves on a free port of this machine until its input ends, as it does with ours."""

    def __init__(self) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = int(probe.getsockname()[1])
        self._until = time.monotonic() + _LONGEST_START
        self._process = subprocess.Popen(
            [sys.executable, *_SERVE, str(self.port)],
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
            start_new_session=True,
        )

    def starting(self) -> bool:
        """Return whether it may still come up."""
        return self._process.poll() is None and time.monotonic() < self._until

    def end(self) -> None:
        """End it, and wait until it has finished what runs."""
        assert self._process.stdin is not None
        with suppress(OSError):
            self._process.stdin.close()
        try:
            self._process.wait(_LONGEST_END)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()


class Client(_Asking):
    """The service at a base URL such as ``http://127.0.0.1:8347``; one that is none is a ValueError."""

    def __init__(self, server: str) -> None:
        super().__init__(server)
        self._http = httpx2.Client(**self._http_options)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    def close(self) -> None:
        """Close connections, and end a service of its own."""
        self._http.close()
        if self._own is not None:
            self._own.end()

    def send(self, call: Call[T]) -> T:
        """Send a request and return the answer, or raise a `ProblemError` or an `UnreachableError`."""
        return call.answer(self.ask(call.path, call.body))

    def ask(self, path: str, body: bytes | None = None) -> Reply:
        """Send bytes, or without any just ask, and return the answer as it came, whatever it says."""
        request, tried = self._request(path, body), 0
        while True:
            try:
                came: httpx2.Response | httpx2.TransportError = self._http.request(**request)
                tried += 1
            except httpx2.TransportError as error:
                came = error
            after = self._after(came, tried)
            if isinstance(after, Reply):
                return after
            time.sleep(after)


class AsyncClient(_Asking):
    """The service at a URL, to be awaited; as `Client` in all else."""

    def __init__(self, server: str) -> None:
        super().__init__(server)
        self._http = httpx2.AsyncClient(**self._http_options)

    async def __aenter__(self) -> Self:
        return self

    async def __aexit__(self, *error: object) -> None:
        await self.close()

    async def close(self) -> None:
        """Close connections, and end a service of its own."""
        await self._http.aclose()
        if self._own is not None:
            await asyncio.to_thread(self._own.end)

    async def send(self, call: Call[T]) -> T:
        """Send a request and return the answer; raises as `Client.send`."""
        return call.answer(await self.ask(call.path, call.body))

    async def ask(self, path: str, body: bytes | None = None) -> Reply:
        """Send bytes and return the answer as it came; raises as `Client.ask`."""
        request, tried = self._request(path, body), 0
        while True:
            try:
                came: httpx2.Response | httpx2.TransportError = await self._http.request(**request)
                tried += 1
            except httpx2.TransportError as error:
                came = error
            after = self._after(came, tried)
            if isinstance(after, Reply):
                return after
            await asyncio.sleep(after)
