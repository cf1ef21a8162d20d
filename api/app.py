"""The application: the one wiring of settings, services, routes and problems."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib.metadata import version

from fastapi import FastAPI

from api.cards import CardShelf
from api.envelope import Envelope
from api.openapi import describe
from api.problems import add_problem_handlers
from api.routes import advice, ahead, cards, deals, health, reviews
from api.services import Services
from api.settings import Settings
from api.work import Work


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    yield
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
    for resource in (advice, ahead, reviews, deals, cards, health):
        app.include_router(resource.router)
    add_problem_handlers(app)
    app.add_middleware(Envelope)
    describe(app)
    return app
