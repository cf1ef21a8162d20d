"""What the server tells of itself: its log, JSON lines, and metrics in the text format of Prometheus.

Neither has anything of what clients wrote.
"""

from __future__ import annotations

import json
import logging
import os
import traceback
from contextlib import suppress
from datetime import UTC, datetime
from typing import Any

from starlette.types import Scope

from api.problems import Reply

# In the scope of a request: seconds it waited for a thread, if it was let into the pool; the template of what
# took it, such as ``/v1/cards/{name}``.
QUEUE_WAIT, ROUTE = "threepass.queue_wait", "threepass.route"
# Where the processes of one server add up their numbers; prometheus_client reads it when it is imported.
FOLDER = "PROMETHEUS_MULTIPROC_DIR"
_MEMBERS = "threepass"
# Their messages quote nothing that was sent.
_OWN = ("uvicorn", "threepass")
# A method is a word of the client's own choosing; any other is not repeated.
_METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT"})
_SECONDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0, 60.0)
_NO_ROUTE = "none"
_ONCE_IN = 60.0
_access = logging.getLogger("threepass.access")


class JsonLines(logging.Formatter):
    """Writes each record as one line of JSON (ASCII, so that no encoding can spoil it).

    Errors nobody foresaw may quote a request in their messages, and so may what libraries log. Without
    details only the error's type is written, and where it was raised, and a library's message before its
    blanks are filled in; asyncio quotes errors in the lines after its first, which are left out too.
    """

    def __init__(self, details: bool) -> None:
        super().__init__()
        self._details = details

    def format(self, record: logging.LogRecord) -> str:
        """Return the line, without its end."""
        entry: dict[str, object] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": self._message(record),
            **getattr(record, _MEMBERS, {}),
        }
        error = record.exc_info[1] if record.exc_info else None
        if error is not None:
            entry["error"] = type(error).__name__
            entry["trace"] = self._trace(error)
        return json.dumps(entry, default=str)

    def _message(self, record: logging.LogRecord) -> str:
        if self._details:
            return record.getMessage()
        own = record.name.partition(".")[0] in _OWN
        return (record.getMessage() if own else str(record.msg)).partition("\n")[0]

    def _trace(self, error: BaseException) -> str:
        if self._details:
            return "".join(traceback.format_exception(error))
        told: list[str] = []
        seen: set[int] = set()
        cause: BaseException | None = error
        while cause is not None and id(cause) not in seen:
            seen.add(id(cause))
            frames = traceback.format_list(traceback.extract_tb(cause.__traceback__))
            told.insert(0, "".join([*frames, f"{type(cause).__name__}\n"]))
            cause = cause.__cause__ or cause.__context__
        return "\n".join(told)


class Repeats(logging.Filter):
    """Lets warnings and errors from one place through once a minute, with how many were left out since.

    What a client can cause it can cause as often as it likes, and the log must not fill the disk.
    """

    def __init__(self) -> None:
        super().__init__()
        self._last: dict[tuple[object, ...], tuple[float, int]] = {}

    def filter(self, record: logging.LogRecord) -> bool:
        """Say whether a record is written."""
        if record.levelno < logging.WARNING:
            return True
        error = record.exc_info[1] if record.exc_info else None
        place = (record.pathname, record.lineno, type(error), _raised_at(error))
        written, left_out = self._last.get(place, (-_ONCE_IN, 0))
        if record.created - written < _ONCE_IN:
            self._last[place] = written, left_out + 1
            return False
        self._last[place] = record.created, 0
        if left_out:
            setattr(record, _MEMBERS, {**getattr(record, _MEMBERS, {}), "left_out": left_out})
        return True


def _raised_at(error: BaseException | None) -> tuple[str, int] | None:
    frames = traceback.extract_tb(error.__traceback__) if error is not None else ()
    return (frames[-1].filename, frames[-1].lineno or 0) if frames else None


def log_config(details: bool, quiet: bool = False) -> dict[str, Any]:
    """Return the configuration of `logging.config` for a server: everything on stderr as JSON lines."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "filters": {"repeats": {"()": Repeats}},
        "formatters": {"lines": {"()": JsonLines, "details": details}},
        "handlers": {
            "stderr": {
                "class": "logging.StreamHandler",
                "formatter": "lines",
                "filters": ["repeats"],
                "stream": "ext://sys.stderr",
            }
        },
        "root": {"handlers": ["stderr"], "level": "WARNING"},
        "loggers": {name: {"level": "WARNING" if quiet else "INFO"} for name in _OWN},
    }


def tell(scope: Scope, request_id: str, status: int | None, seconds: float, metrics: Metrics | None) -> None:
    """Write the access log of a request and count it; without a status its answer never began."""
    wait = scope.get(QUEUE_WAIT)
    members: dict[str, Any] = {
        "request_id": request_id,
        "method": scope["method"] if scope["method"] in _METHODS else "OTHER",
        "route": scope.get(ROUTE),
        "status": status,
        "milliseconds": round(seconds * 1000, 1),
        "queue_wait_ms": None if wait is None else round(wait * 1000, 1),
    }
    _access.info("served", extra={_MEMBERS: members})
    if metrics is not None:
        metrics.count(members["method"], members["route"] or _NO_ROUTE, status, seconds, wait)


class Metrics:
    """What one process counts; ImportError if prometheus_client is not installed."""

    def __init__(self) -> None:
        from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, ProcessCollector

        registry = CollectorRegistry()
        self._registry = registry
        self.running = Gauge(
            "threepass_requests_in_progress",
            "Requests being read, waiting, solved or answered",
            registry=registry,
            multiprocess_mode="livesum",
        )
        self._requests = Counter(
            "threepass_requests", "Requests served", ("method", "route", "status"), registry=registry
        )
        self._seconds = Histogram(
            "threepass_request_seconds",
            "Seconds from a request's head to the end of its answer",
            ("route",),
            registry=registry,
            buckets=_SECONDS,
        )
        self._waits = Histogram(
            "threepass_queue_wait_seconds",
            "Seconds that a request waited for a thread",
            registry=registry,
            buckets=_SECONDS,
        )
        ProcessCollector(registry=registry)

    def count(
        self, method: str, route: str, status: int | None, seconds: float, queue_wait: float | None
    ) -> None:
        """Count a request that was served."""
        self._requests.labels(method, route, str(status or "none")).inc()
        self._seconds.labels(route).observe(seconds)
        if queue_wait is not None:
            self._waits.observe(queue_wait)

    def reply(self) -> Reply:
        """Return all numbers, those of the server's other processes added."""
        from prometheus_client import CONTENT_TYPE_PLAIN_0_0_4, CollectorRegistry, generate_latest
        from prometheus_client.multiprocess import MultiProcessCollector

        registry = self._registry
        if FOLDER in os.environ:
            registry = CollectorRegistry()
            MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
        return Reply(200, generate_latest(registry), CONTENT_TYPE_PLAIN_0_0_4)


def metrics_if_installed() -> Metrics | None:
    """Return the metrics, or None when prometheus_client is not installed."""
    try:
        return Metrics()
    except ImportError:
        return None


def forget(process: int | None) -> None:
    """Drop what a worker that died had under way; what it counted stays."""
    if FOLDER in os.environ:
        with suppress(ImportError):
            from prometheus_client.multiprocess import mark_process_dead

            mark_process_dead(process)  # type: ignore[no-untyped-call]
