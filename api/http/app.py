"""The service over HTTP, a thin skin: admission, time, size and request id, and the web page's files."""

from __future__ import annotations

import asyncio
import re
import sys
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager, nullcontext
from dataclasses import replace
from functools import partial
from hashlib import sha256
from ipaddress import ip_address
from pathlib import Path
from time import perf_counter
from uuid import uuid4

from fastapi import FastAPI
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.answers.batches import answer_line
from api.http.connection import HEADER
from api.http.observe import ROUTE, Metrics, metrics_if_installed, tell
from api.http.work import DRAINED, Batch, Work
from api.operations import JSON, NDJSON
from api.problems import Kind, Later, ProblemError, Reply, problem_reply
from api.service import Service, describe
from api.settings import Settings
from api.sheets.tiles import sprite
from patterns.stopping import End, StoppedError, Stopper

# What a page of another origin may read of an answer, besides its body.
_EXPOSED = f"{HEADER}, retry-after, allow"
_PREFLIGHT = {
    "access-control-allow-methods": "GET, POST",
    "access-control-allow-headers": f"content-type, {HEADER}",
    "access-control-allow-private-network": "true",
    "access-control-max-age": "600",
}
_ID, _MAY_ASK = "threepass.request_id", "threepass.may_ask"
_TYPES_TAKEN = {
    JSON: re.compile(r"application/(.+\+)?json"),
    NDJSON: re.compile(r"application/(x-ndjson|jsonl|jsonlines)"),
}
_HOST = re.compile(r"(\[.*\]|[^:]*)(?::\d*)?")
_GOOD_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")
# Seconds after which a solving thread lets the event loop run: it takes several turns to answer one request,
# and with Python's five milliseconds each, a busy server would not even say in time that it lives.
_TURN = 0.0005
# Only these files of a page are served: what else lies in its folder stays private.
_TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}
_POLICY = "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors "
_PAGE_HEADERS = {
    # Asked for anew each time, and answered by 304 while it is the same: never stale, never sent twice.
    "cache-control": "no-cache",
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
}


def create_app(settings: Settings | None = None) -> FastAPI:
    """Return the application; its settings are those of the environment by default, as of the `Service`."""
    service = Service(settings)
    skin = Skin(service)

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        before = sys.getswitchinterval()
        sys.setswitchinterval(_TURN)
        with service:
            yield
        sys.setswitchinterval(before)
        skin.work.close()
        skin.apart.close()

    app = FastAPI(title="threepass", lifespan=lifespan, openapi_url=None, docs_url=None, redoc_url=None)
    # The service knows its addresses and describes them: no router of routes beside its own.
    app.router.default = skin
    # Nor any layer around the envelope, which catches all that they would: under load they count.
    app.middleware_stack = Envelope(app.router, skin.metrics, service.settings.origins)
    app.openapi = describe  # type: ignore[method-assign]
    app.state.work, app.state.apart = skin.work, skin.apart
    return app


class Skin:
    """Answers HTTP requests from the service, in a pool of threads; its settings say how much is let in."""

    def __init__(self, service: Service) -> None:
        self._service = service
        self._settings = settings = service.settings
        self.work = Work(settings.threads, settings.queue, settings.longest_wait)
        # PDFs, one at a time: each is drawn in a process of its own, and takes much memory.
        self.apart = Work(1, settings.queue, settings.longest_wait)
        self._pages = {} if settings.pages is None else page_files(settings.pages, settings.embedders)
        self.metrics = metrics_if_installed() if settings.metrics else None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        try:
            reply = await self._reply(Request(scope, receive), send)
        except asyncio.CancelledError:
            # The server's grace is over: whoever still waits is told so.
            raise StoppedError(End.CLOSING) from None
        if reply is not None:
            await _response(reply)(scope, receive, send)

    async def _reply(self, request: Request, send: Send) -> Reply | None:
        """Return the answer; None if it is sent already."""
        scope, path = request.scope, request.scope["path"]
        _check_host(request, self._settings.hosts)
        if scope.get(_MAY_ASK) and request.method == "OPTIONS":
            return Reply(204, b"", headers=_PREFLIGHT)
        if path in self._pages or (path == "/metrics" and self._settings.metrics):
            scope[ROUTE] = path
            if request.method not in ("GET", "HEAD"):
                detail = "GET is the method for this address"
                raise ProblemError(Kind.WRONG_METHOD, detail, headers={"allow": "GET"})
            return _unless_known(request, self._pages[path]) if path in self._pages else self._numbers()
        operation, named = self._service.find(request.method, path)
        scope[ROUTE] = operation.path
        request_id = scope[_ID]
        if operation.takes is not None:
            _check_type(request, operation.media_type)
        if operation.lines:
            answer = partial(answer_line, self._service)
            await Batch(request, request_id, self.work, self._settings, answer).run(send)
            return None
        body = b"" if operation.takes is None else await self._body(request)
        respond = partial(self._service.respond, operation, named, body, request_id)
        made = respond(Stopper()) if operation.at_once else await self.work.run(request, respond)
        if not isinstance(made, Later):
            return made
        return await self.apart.run(request, lambda stopper: self._service.finish(made, stopper))

    async def _body(self, request: Request) -> bytes:
        seconds, limit = self._settings.longest_sending, self._settings.body_limit
        body, size = bytearray(), 0
        try:
            async with asyncio.timeout(seconds):
                async for chunk in request.stream():
                    size += len(chunk)
                    if size <= limit:
                        body += chunk
                    elif size > limit + DRAINED:
                        break
        except TimeoutError:
            detail = f"it must be whole after {seconds:g} seconds"
            raise ProblemError(Kind.TOO_SLOW, detail) from None
        except ClientDisconnect:
            raise StoppedError from None
        if size > limit:
            raise ProblemError(Kind.TOO_LARGE, f"at most {limit} bytes are taken")
        return bytes(body)

    def _numbers(self) -> Reply:
        if self.metrics is None:
            detail = "metrics need prometheus-client: install threepass[metrics]"
            raise ProblemError(Kind.NOT_INSTALLED, detail)
        return self.metrics.reply()


def _check_host(request: Request, hosts: Sequence[str]) -> None:
    """Check that the request means this service.

    A foreign page may let its own name stand for an address of the visitor's network, and would then count as
    this service's own. An address cannot be such a name, and who sends none is no browser.
    """
    host = request.headers.get("host")
    found = _HOST.fullmatch((host or "").strip().lower())
    name = found[1].rstrip(".") if found else ""
    if host is None or "*" in hosts or name in ("localhost", *hosts):
        return
    try:
        ip_address(name.strip("[]"))
    except ValueError:
        detail = "whoever runs it may add the name to THREEPASS_HOSTS"
        raise ProblemError(Kind.OTHER_HOST, detail) from None


def _check_type(request: Request, wanted: str) -> None:
    media_type, _, parameters = request.headers.get("content-type", "").partition(";")
    if not _TYPES_TAKEN[wanted].fullmatch(media_type.strip().lower()):
        raise ProblemError(Kind.WRONG_MEDIA_TYPE, f"send the body with `content-type: {wanted}`")
    for parameter in parameters.split(";"):
        name, _, value = parameter.strip().lower().partition("=")
        if name == "charset" and value.strip('"') not in ("utf-8", "utf8"):
            raise ProblemError(Kind.WRONG_MEDIA_TYPE, "the body must be UTF-8")
    if request.headers.get("content-encoding", "identity").strip().lower() != "identity":
        raise ProblemError(Kind.WRONG_MEDIA_TYPE, "the body must not be compressed")


def _response(reply: Reply) -> Response:
    return Response(reply.body, reply.status, {"content-type": reply.media_type, **reply.headers})


def _unless_known(request: Request, file: Reply) -> Reply:
    """Answer with a file, or say that the client has it (``if-none-match``, RFC 9110)."""
    written = request.headers.get("if-none-match", "")
    names = [name.strip().removeprefix("W/") for name in written.split(",")]
    known = "*" in names or file.headers["etag"] in names
    return replace(file, status=304, body=b"") if known else file


def page_files(folder: Path, embedders: Sequence[str]) -> dict[str, Reply]:
    """Return the files of a web page by their addresses, its start also at ``/``, and the drawings of tiles.

    The addresses are known beforehand, so none reaches a file outside the folder, and what is not there
    is answered as if there were no page. Files in hidden folders and of unknown types are left out.
    """
    policy = _POLICY + (" ".join(embedders) or "'none'")

    def read_once(content: bytes, ending: str) -> Reply:
        etag = f'"{sha256(content).hexdigest()[:32]}"'
        return Reply(
            200, content, _TYPES[ending], {**_PAGE_HEADERS, "content-security-policy": policy, "etag": etag}
        )

    files = {"/tiles.svg": read_once(sprite(), ".svg")}
    for file in sorted(folder.rglob("*")):
        path = file.relative_to(folder)
        if file.suffix in _TYPES and file.is_file() and not any(part.startswith(".") for part in path.parts):
            files[f"/{path.as_posix()}"] = read_once(file.read_bytes(), file.suffix)
    files["/"] = files["/index.html"]
    return files


class Envelope:
    """Pure ASGI: gives each request an id (the client's, if it is a good one) and catches what escapes.

    The access log is written in any case. Pages of the origins may ask from a browser.
    """

    def __init__(self, app: ASGIApp, metrics: Metrics | None = None, origins: Sequence[str] = ()) -> None:
        self._app = app
        self._origins = origins
        self._metrics = metrics

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one connection."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        given = dict(scope["headers"])
        wanted = given.get(HEADER.encode(), b"").decode("latin-1")
        request_id = wanted if _GOOD_ID.fullmatch(wanted) else uuid4().hex
        scope[_ID] = request_id
        more = [(HEADER.encode(), request_id.encode()), *self._shared(scope, given.get(b"origin"))]
        status: int | None = None
        begun = perf_counter()

        async def send_with_id(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                message["headers"] = [*message["headers"], *more]
            await send(message)

        try:
            with nullcontext() if self._metrics is None else self._metrics.running.track_inprogress():
                await self._app(scope, receive, send_with_id)
        except Exception as error:
            if status is not None:
                raise
            await _response(problem_reply(error, request_id))(scope, receive, send_with_id)
        finally:
            tell(scope, request_id, status, perf_counter() - begun, self._metrics)

    def _shared(self, scope: Scope, origin: bytes | None) -> list[tuple[bytes, bytes]]:
        """Return the headers that let a page of another origin read the answer, if it may."""
        headers = [(b"vary", b"origin")] if self._origins else []
        if origin is not None and ("*" in self._origins or origin.decode("latin-1") in self._origins):
            scope[_MAY_ASK] = True
            headers += [
                (b"access-control-allow-origin", origin),
                (b"access-control-expose-headers", _EXPOSED.encode()),
            ]
        return headers
