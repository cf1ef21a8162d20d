"""A sheet that comes back to be made into a file."""

from __future__ import annotations

from api.convert.parts import Parts
from api.wire.sheets import MAX_PRINTED, Form, PagesRequest, Part, SheetBody
from patterns.faults import Fault, FaultyInputError
from patterns.rack import count_faults


def pages_of(written: object) -> PagesRequest:
    """Read a request for pages.

    Raises:
        FaultyInputError: every fault of shape, or else every place where the sheet contradicts itself.
    """
    parts = Parts(written)
    body = parts.shape(PagesRequest)
    if body is None:
        raise FaultyInputError(parts.faults)
    parts.faults += _rack_faults(body.sheet)
    numbers = [problem.number for problem in body.sheet.problems]
    if len(set(numbers)) < len(numbers):
        parts.faults.append(Fault("numbers", ("sheet", "problems"), "two problems have the same number"))
    answered = [answer.number for answer in body.sheet.key]
    if answered and answered != numbers:
        detail = "the key must answer every problem in order, or none"
        parts.faults.append(Fault("numbers", ("sheet", "key"), detail))
    if body.format is Form.PDF and len(numbers) > MAX_PRINTED:
        detail = f"a PDF has at most {MAX_PRINTED} problems: send the sheet in parts, or ask for html"
        parts.faults.append(Fault("too-long", ("sheet", "problems"), detail))
    if body.part is Part.KEY and numbers and not answered:
        parts.faults.append(Fault("no-key", ("part",), "this sheet has no key"))
    parts.check()
    return body


def _rack_faults(sheet: SheetBody) -> list[Fault]:
    return [
        fault.inside("sheet", "problems", index, "rack")
        for index, problem in enumerate(sheet.problems)
        for fault in count_faults(problem.rack)
    ]
