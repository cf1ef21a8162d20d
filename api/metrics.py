"""Metrics in the text format of Prometheus at ``/metrics``, if a setting asks for them."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from api.problems import NotInstalledError
from api.served import Served

# Where the processes of one server add up their numbers; prometheus_client reads it when it is imported.
FOLDER = "PROMETHEUS_MULTIPROC_DIR"
_SECONDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0, 60.0)
_NO_ROUTE = "none"


class Metrics:
    """What one process counts.

    Raises:
        ImportError: on construction, prometheus_client is not installed.
    """

    def __init__(self) -> None:
        from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, ProcessCollector

        registry = CollectorRegistry()
        self._registry = registry
        self._running = Gauge(
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

    @contextmanager
    def in_progress(self) -> Iterator[None]:
        """Count a request as under way while a block runs."""
        with self._running.track_inprogress():
            yield

    def count(self, served: Served) -> None:
        """Count a request that was served."""
        route = served.route or _NO_ROUTE
        self._requests.labels(served.method, route, str(served.status or "none")).inc()
        self._seconds.labels(route).observe(served.seconds)
        if served.queue_wait is not None:
            self._waits.observe(served.queue_wait)

    def response(self) -> Response:
        """Return all numbers, those of the server's other processes added."""
        from prometheus_client import CONTENT_TYPE_PLAIN_0_0_4, CollectorRegistry, generate_latest
        from prometheus_client.multiprocess import MultiProcessCollector

        registry, folder = self._registry, os.environ.get(FOLDER)
        if folder is not None:
            _forget_the_dead(Path(folder))
            registry = CollectorRegistry()
            MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
        return Response(generate_latest(registry), headers={"content-type": CONTENT_TYPE_PLAIN_0_0_4})


def metrics_if_installed() -> Metrics | None:
    """Return the metrics, or None when prometheus_client is not installed."""
    try:
        return Metrics()
    except ImportError:
        return None


def metrics_route(metrics: Metrics | None) -> Route:
    """Return the route ``/metrics``; without metrics it answers that a part is not installed."""

    async def numbers(_request: Request) -> Response:
        if metrics is None:
            raise NotInstalledError("metrics need prometheus-client: install threepass[metrics]")
        return metrics.response()

    return Route("/metrics", numbers, name="metrics")


def _forget_the_dead(folder: Path) -> None:
    """Drop what processes that were killed had under way; what they counted stays."""
    for file in folder.glob("gauge_livesum_*.db"):
        found = re.fullmatch(r"gauge_livesum_(\d+)\.db", file.name)
        if found and not _lives(int(found[1])):
            file.unlink(missing_ok=True)


def _lives(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True
