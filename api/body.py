"""Reading a request's body: its type, its size, its JSON."""

from __future__ import annotations

import asyncio
import json
from typing import NoReturn

from starlette.requests import ClientDisconnect, Request

from solver.model import StoppedError

# How much of a body that is too large is still taken and thrown away: a client that is cut off while it
# sends would never see the answer.
_DRAINED = 32 * 1024 * 1024


class NotJsonError(Exception):
    """The body is not UTF-8 or not JSON; the message says where."""


class BodyTooLargeError(Exception):
    """The body is larger than the limit."""


class BodyTooSlowError(Exception):
    """The body did not come whole in time."""


class WrongMediaTypeError(Exception):
    """The body is not declared as JSON, or is compressed."""


def _check_type(request: Request) -> None:
    written = request.headers.get("content-type", "")
    media_type, _, parameters = written.partition(";")
    main, _, sub = media_type.strip().lower().partition("/")
    if main != "application" or not (sub == "json" or (sub.endswith("+json") and sub != "+json")):
        raise WrongMediaTypeError("send the body with `content-type: application/json`")
    for parameter in parameters.split(";"):
        name, _, value = parameter.strip().lower().partition("=")
        if name == "charset" and value.strip('"') not in ("utf-8", "utf8"):
            raise WrongMediaTypeError("the body must be UTF-8")
    if request.headers.get("content-encoding", "identity").strip().lower() != "identity":
        raise WrongMediaTypeError("the body must not be compressed")


async def read_body(request: Request, limit: int, seconds: float) -> bytes:
    """Return the body.

    Args:
        request: The request.
        limit: Most bytes taken.
        seconds: How long it may take from now to be whole.

    Raises:
        WrongMediaTypeError: it is not declared as plain JSON in UTF-8.
        BodyTooLargeError: it is over the limit, whether its length was announced or not.
        BodyTooSlowError: it is not whole in time.
        StoppedError: the client went away while sending.
    """
    _check_type(request)
    try:
        async with asyncio.timeout(seconds):
            return await _within(request, limit)
    except TimeoutError:
        raise BodyTooSlowError(f"it must be whole after {seconds:g} seconds") from None
    except ClientDisconnect:
        raise StoppedError from None


async def _within(request: Request, limit: int) -> bytes:
    chunks: list[bytes] = []
    size = 0
    async for chunk in request.stream():
        size += len(chunk)
        if size <= limit:
            chunks.append(chunk)
        elif size > limit + _DRAINED:
            break
        else:
            chunks.clear()
    if size > limit:
        raise BodyTooLargeError(f"at most {limit} bytes are taken")
    return b"".join(chunks)


def _refuse(constant: str) -> NoReturn:
    raise NotJsonError(f"{constant} is not a number of JSON")


def parse_json(body: bytes) -> object:
    """Return the value that a body stands for.

    Raises:
        NotJsonError: it is not UTF-8, not JSON, nested too deeply, or has a number of thousands of digits.
    """
    try:
        return json.loads(body.decode("utf-8-sig"), parse_constant=_refuse)
    except UnicodeDecodeError as error:
        raise NotJsonError(f"not UTF-8 at byte {error.start}") from None
    except json.JSONDecodeError as error:
        at = f"line {error.lineno}, column {error.colno} (byte {_byte(error)})"
        raise NotJsonError(f"{at}: {error.msg[:1].lower()}{error.msg[1:]}") from None
    except RecursionError:
        raise NotJsonError("nested too deeply") from None
    except ValueError:
        raise NotJsonError("a number has too many digits") from None


def _byte(error: json.JSONDecodeError) -> int:
    return len(error.doc[: error.pos].encode("utf-8"))
