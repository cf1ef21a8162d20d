"""A sheet as a table: CSV (RFC 4180), one problem a row."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from api.sheets.words import tokens
from api.wire.sheets import GIVEN_UP, KEPT, RUNNER_UPS, Part, SheetAnswer, SheetBody, SheetProblem

# What a spreadsheet would take for a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_PROBLEM = ("number", "seed", "deal", "round", "rack")
_KEY = (
    *("pass", "blind", "expected_hands", "call"),
    *(f"{name}_{index}" for index in range(1, RUNNER_UPS + 1) for name in ("runner_up", "gap")),
    *(f"{name}_{index}" for index in range(1, KEPT + 1) for name in ("hand", "family", "reach")),
    *(
        f"{name}_{index}"
        for index in range(1, GIVEN_UP + 1)
        for name in ("given_up", "given_up_from", "given_up_to")
    ),
    *("sentence", "card", "threepass", "ortools"),
)


def table(sheet: SheetBody, part: Part) -> bytes:
    """Return a part of a sheet as CSV in UTF-8; the command reads it again as racks of one's own.

    Text that a spreadsheet would take for a formula gets an apostrophe before it.
    """
    written = io.StringIO(newline="")
    writer = csv.writer(written)
    if part is Part.PROBLEMS:
        writer.writerow((*_PROBLEM, "pass", "notes"))
        writer.writerows((*_row(sheet, problem), "", "") for problem in sheet.problems)
    else:
        writer.writerow((*_PROBLEM, *_KEY))
        writer.writerows(
            (*_row(sheet, problem), *map(_safe, _answer(sheet, answer)))
            for problem, answer in zip(sheet.problems, sheet.key, strict=True)
        )
    return written.getvalue().encode()


def _row(sheet: SheetBody, problem: SheetProblem) -> tuple[object, ...]:
    return (problem.number, sheet.seed, problem.index, problem.round.value, tokens(problem.rack))


def _answer(sheet: SheetBody, answer: SheetAnswer) -> list[object]:
    return [
        *(tokens(answer.passed), answer.blind, answer.expected_hands),
        None if answer.call is None else answer.call.value,
        *_filled(((tokens(other.passed), other.gap) for other in answer.runner_ups), RUNNER_UPS, 2),
        *_filled(((hand.name, hand.family, hand.reach) for hand in answer.hands), KEPT, 3),
        *_filled(((loss.name, loss.reach_before, loss.reach) for loss in answer.given_up), GIVEN_UP, 3),
        *(answer.sentence, sheet.card.title, sheet.versions.threepass, sheet.versions.ortools),
    ]


def _filled(groups: Iterable[tuple[object, ...]], count: int, width: int) -> list[object]:
    cells = [cell for group in groups for cell in group]
    return cells + [None] * (count * width - len(cells))


def _safe(cell: object) -> object:
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_FORMULA) else cell
