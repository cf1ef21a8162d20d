"""What logs and metrics may know of a request that was served: nothing of its contents."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from typing import Self

from starlette.types import Scope

from api.log_lines import MEMBERS

QUEUE_WAIT = "threepass.queue_wait"
# A method is a word of the client's own choosing; any other is not repeated.
_METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT"})
_log = logging.getLogger("threepass.access")


@dataclass(frozen=True)
class Served:
    """One request.

    Attributes:
        method: Its method, or ``OTHER``.
        route: The template of the route that took it, such as ``/v1/cards/{name}``, or None.
        status: What was answered, or None when the answer never began.
        seconds: From its head to the end of its answer.
        queue_wait: Seconds it waited for a thread, or None when it was not let into the pool.
    """

    request_id: str
    method: str
    route: str | None
    status: int | None
    seconds: float
    queue_wait: float | None

    @classmethod
    def of(cls, scope: Scope, request_id: str, status: int | None, seconds: float) -> Self:
        """Return what is known of a request after it was served."""
        method = scope["method"] if scope["method"] in _METHODS else "OTHER"
        return cls(request_id, method, _template(scope), status, seconds, scope.get(QUEUE_WAIT))

    def log(self) -> None:
        """Write the access log."""
        wait = None if self.queue_wait is None else _milliseconds(self.queue_wait)
        members = {
            "request_id": self.request_id,
            "method": self.method,
            "route": self.route,
            "status": self.status,
            "milliseconds": _milliseconds(self.seconds),
            "queue_wait_ms": wait,
        }
        _log.info("served", extra={MEMBERS: members})


def _milliseconds(seconds: float) -> float:
    return round(seconds * 1000, 1)


def _template(scope: Scope) -> str | None:
    path = getattr(scope.get("route"), "path", None)
    if path is None and "endpoint" in scope and not scope.get("path_params"):
        path = scope["path"]  # the route is a fixed address
    return path
