"""The web page's files, served beside the API at ``/``: a fixed table, read once."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from hashlib import sha256
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from api.sheets.tiles import sprite

START = "index.html"
# The drawings that are printed are the page's too.
TILES = "/tiles.svg"
# Only these are served: what else lies in the folder stays private.
_TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}
_HEADERS = {
    # Asked for anew each time, and answered by 304 while it is the same: never stale, never sent twice.
    "cache-control": "no-cache",
    "content-security-policy": "; ".join(
        (
            "default-src 'self'",
            "object-src 'none'",
            "base-uri 'none'",
            "form-action 'none'",
            "frame-ancestors 'none'",
        )
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
}


def page_routes(folder: Path) -> list[Route]:
    """Return one route for each file of a web page, ``/`` for its start, and one for the drawings of tiles.

    The paths are known beforehand, so no address reaches a file outside the folder, and what is not there
    is answered as if there were no page.

    Args:
        folder: Has an ``index.html``. Files in hidden folders and of unknown types are left out.

    Raises:
        OSError: a file cannot be read.
    """
    routes = [Route(TILES, _answering(sprite(), _TYPES[".svg"]), name=f"page {TILES}")]
    for file in sorted(folder.rglob("*")):
        path = file.relative_to(folder)
        if file.suffix in _TYPES and file.is_file() and not any(part.startswith(".") for part in path.parts):
            endpoint = _answering(file.read_bytes(), _TYPES[file.suffix])
            addresses = ["/", f"/{START}"] if path == Path(START) else [f"/{path.as_posix()}"]
            routes += [Route(address, endpoint, name=f"page {address}") for address in addresses]
    return routes


def _answering(content: bytes, media_type: str) -> Callable[[Request], Awaitable[Response]]:
    headers = {**_HEADERS, "etag": f'"{sha256(content).hexdigest()[:32]}"'}

    async def answer(request: Request) -> Response:
        if _has(request.headers.get("if-none-match", ""), headers["etag"]):
            return Response(status_code=304, headers=headers)
        return Response(content, headers={**headers, "content-type": media_type})

    return answer


def _has(written: str, etag: str) -> bool:
    """Return whether the header ``if-none-match`` names the file as it is (weak comparison, RFC 9110)."""
    names = [name.strip().removeprefix("W/") for name in written.split(",")]
    return "*" in names or etag in names
