"""Practice cards, and checking a card of one's own."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Request
from starlette.responses import Response

from api.convert.cards import card_body, card_list, checked
from api.declare import IN_THE_POOL, WITH_A_BODY, answers, takes
from api.operation import answer, answer_body
from api.problems import Kind, NotFoundError
from api.routes import examples
from api.services import Services
from api.wire.cards import CardBody, CardList, CheckAnswer, CheckRequest
from patterns.card_file import shipped_names

router = APIRouter(tags=["cards"])


@router.get(
    "/v1/cards",
    name="list_cards",
    summary="The practice cards",
    responses=answers(CardList, *IN_THE_POOL, example=examples.CARDS),
    response_class=Response,
)
async def list_cards(request: Request) -> Response:
    """Return the practice cards in short."""
    return await answer(request, lambda services, _: card_list(services.cards.all_shipped()))


@router.post(
    "/v1/cards/check",
    name="check_card",
    summary="Check a card",
    responses=answers(CheckAnswer, *WITH_A_BODY),
    response_class=Response,
)
@takes(CheckRequest, examples.CHECK)
async def check_card(request: Request) -> Response:
    """Return all faults of a card, or the card in full with remarks. A faulty card is no error here."""
    return await answer_body(request, lambda services, _, written: checked(written, services.cards))


@router.get(
    "/v1/cards/{name}",
    name="show_card",
    summary="One practice card",
    responses=answers(CardBody, Kind.NOT_FOUND, *IN_THE_POOL, example=examples.CARD),
    response_class=Response,
)
async def show_card(request: Request, name: Annotated[str, Path(examples=["small"])]) -> Response:
    """Return a practice card with its hands and how hard they are."""
    return await answer(request, lambda services, _: _shown(services, name))


def _shown(services: Services, name: str) -> CardBody:
    try:
        return card_body(services.cards.shipped(name))
    except KeyError:
        raise NotFoundError(
            f"no practice card has this name: there are {', '.join(shipped_names())}"
        ) from None
