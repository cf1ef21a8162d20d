"""What the operations share within one process."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

from starlette.requests import Request

from api.cards import CardShelf
from api.settings import Settings
from api.work import Work


@dataclass(frozen=True)
class Services:
    """Settings, cards and the thread pool."""

    settings: Settings
    cards: CardShelf
    work: Work

    @classmethod
    def of(cls, request: Request) -> Services:
        """Return the services of the application that serves a request."""
        return cast(Services, request.app.state.services)
