"""The application: the one wiring of settings, services, routes and problems."""

from __future__ import annotations

import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib.metadata import version

from fastapi import FastAPI
from threadpoolctl import threadpool_limits

from api.cards import CardShelf
from api.envelope import Envelope
from api.metrics import metrics_if_installed, metrics_route
from api.openapi import describe
from api.pages import page_routes
from api.problems import add_problem_handlers
from api.routes import advice, ahead, cards, deals, health, reviews, sheets
from api.services import Services
from api.settings import Settings
from api.work import Work

# Seconds after which a solving thread lets the event loop run: it takes several turns to answer one request,
# and with Python's five milliseconds each, a busy server would not even say in time that it lives.
_TURN = 0.0005


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    before = sys.getswitchinterval()
    sys.setswitchinterval(_TURN)
    # One answer, one core: products shared out over cores that other answers use take longer, not less long.
    with threadpool_limits(limits=1, user_api="blas"):
        yield
    sys.setswitchinterval(before)
    app.state.services.work.close()


def create_app(settings: Settings | None = None) -> FastAPI:
    """Return the application.

    Args:
        settings: Settings; by default those of the environment.

    Raises:
        FaultySettingsError: settings in the environment that cannot be read.
    """
    settings = settings or Settings.from_environment()
    app = FastAPI(
        title="threepass",
        version=version("threepass"),
        summary="What should I pass?",
        lifespan=_lifespan,
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,
        generate_unique_id_function=lambda route: route.name,
    )
    app.state.services = Services(
        settings=settings,
        cards=CardShelf(settings.kept_cards),
        work=Work(settings.threads, settings.queue, settings.longest_wait),
    )
    for resource in (advice, ahead, reviews, deals, sheets, cards, health):
        app.include_router(resource.router)
    if settings.pages is not None:
        app.router.routes.extend(page_routes(settings.pages))
    metrics = metrics_if_installed() if settings.metrics else None
    if settings.metrics:
        app.router.routes.append(metrics_route(metrics))
    add_problem_handlers(app)
    app.add_middleware(Envelope, metrics=metrics)
    describe(app)
    return app
