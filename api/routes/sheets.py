"""Problems with their key, and the files to print them from."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from api.convert.pages import pages_of
from api.convert.sheets import AskedSheet, dealt_sheet, own_sheet, sheet_of
from api.declare import WITH_A_BODY, answers, gives_files, takes
from api.operation import answer_body, respond
from api.problems import Kind
from api.routes import examples
from api.services import Services
from api.sheets.files import MEDIA_TYPES, file_of
from api.wire.sheets import PagesRequest, SheetRequest, SheetsAnswer
from patterns.faults import Fault, FaultyInputError
from solver.advice import Advice, ClashError, advise
from solver.deals import find_deals
from solver.model import Stopper

router = APIRouter(tags=["sheets"])


@router.post(
    "/v1/sheets",
    name="sheets",
    summary="Problems and their answer key",
    responses=answers(SheetsAnswer, *WITH_A_BODY, Kind.NO_ANSWER),
    response_class=Response,
)
@takes(SheetRequest, examples.SHEETS)
async def sheets(request: Request) -> Response:
    """Answer many racks at once: those sent, or those dealt from a seed; the same request, the same bytes.

    When the budget ends before enough deals were found, `complete` is false and those found are returned.
    """
    return await answer_body(request, _job)


@router.post(
    "/v1/sheets/pages",
    name="sheet_pages",
    summary="A sheet as a file to print or to calculate with",
    responses=gives_files(MEDIA_TYPES.values(), *WITH_A_BODY, Kind.NOT_INSTALLED),
    response_class=Response,
)
@takes(PagesRequest, examples.SHEET_PAGES)
async def sheet_pages(request: Request) -> Response:
    """Make one file of a sheet: its problems or its key. Nothing is kept; the same sheet, the same bytes."""
    return await respond(request, _pages)


def _job(services: Services, stopper: Stopper, written: object) -> SheetsAnswer:
    asked = sheet_of(written, services.cards, services.settings.max_effort)
    if asked.wish is None:
        return own_sheet(asked, _advices(asked, stopper) if asked.body.key else ())
    found, tried = find_deals(asked.wish, stopper)
    return dealt_sheet(asked, found, tried)


def _advices(asked: AskedSheet, stopper: Stopper) -> list[Advice]:
    advices, faults = [], []
    for index, question in enumerate(asked.questions):
        try:
            advices.append(advise(question, stopper))
        except ClashError as error:
            faults.append(Fault("limits-clash", ("racks", index), str(error)))
    if faults:
        raise FaultyInputError(faults)
    return advices


def _pages(_services: Services, stopper: Stopper, written: object) -> Response:
    body = pages_of(written)
    stopper.check()
    made = file_of(body)
    headers = {
        "content-disposition": f'attachment; filename="{made.name}"',
        # A page opened from here runs nothing and loads nothing, whatever is in the sheet.
        "content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; sandbox",
        "x-content-type-options": "nosniff",
    }
    return Response(made.content, headers=headers, media_type=made.media_type)
