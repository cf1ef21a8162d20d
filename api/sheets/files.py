"""One file of a sheet: a page of HTML that prints well by itself and as a PDF, or CSV (RFC 4180)."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import cache

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from api import words
from api.answers.progress import ClassAnswer, ProblemBody
from api.answers.sheets import (
    GIVEN_UP,
    KEPT,
    RUNNER_UPS,
    Form,
    PagesRequest,
    Paper,
    Part,
    SheetAnswer,
    SheetBody,
    SheetLoss,
    SheetProblem,
    SheetTarget,
)
from api.sheets.tiles import environment, row, svg
from patterns.tiles import Tile
from solver.deals import Difficulty

TITLES = {Part.PROBLEMS: "What should I pass?", Part.KEY: "Answer key"}
_SIZES = {Paper.LETTER: "letter", Paper.A4: "A4"}
_DIFFICULTIES = {Difficulty.CLOSE: "close choices", Difficulty.CLEAR: "clear choices"}
# What a spreadsheet may take for a formula, full-width signs and what stands after a space too.
_FORMULA = re.compile(r"[\s\ufeff\u200b]*[=+\-@\uff1d\uff0b\uff0d\uff20]|[\t\r]")
# Marks that reorder the text around them.
_REORDERING = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")
# With more of them the title takes the place of a problem more.
_FEW_TERMS = 2
_PROBLEM = ("number", "seed", "deal", "round", "rack")
_KEY = (
    *("pass", "blind", "strength", "expected_hands", "closeness"),
    *(f"{name}_{index}" for index in range(1, RUNNER_UPS + 1) for name in ("runner_up", "gap")),
    *(f"{name}_{index}" for index in range(1, KEPT + 1) for name in ("hand", "family", "reach")),
    *(
        f"{name}_{index}"
        for index in range(1, GIVEN_UP + 1)
        for name in ("given_up", "given_up_from", "given_up_to")
    ),
    *("sentence", "card", "threepass", "ortools"),
)
_CLASS = ("number", "card", "round", "rack", "best", "pupil", "pass", "blind", "lost")


def file_of(asked: PagesRequest) -> bytes:
    """Make the file asked for; of a PDF, the page of HTML that it is printed from."""
    if asked.format is Form.CSV:
        return table(asked.sheet, asked.part)
    return page(asked.sheet, asked.part, asked.paper, asked.heading).encode()


def page(sheet: SheetBody, part: Part, paper: Paper, heading: Sequence[str] = ()) -> str:
    """Return a part of a sheet as one page of HTML with all it needs inside, below lines of a heading."""
    answers: Sequence[SheetAnswer | None] = sheet.key or [None] * len(sheet.problems)
    template = _environment().get_template(f"{part.value}.html")
    return template.render(
        title=TITLES[part],
        heading=heading,
        sheet=sheet,
        paper=_SIZES[paper],
        entries=list(zip(sheet.problems, answers, strict=True)),
        terms=_terms(sheet),
        foot=_foot(sheet),
        note=words.STRENGTH_NOTES[sheet.objective.value],
        begin_pages=_begin_pages(sheet, part),
    )


def _begin_pages(sheet: SheetBody, part: Part) -> set[int]:
    """Return which problems begin a page, counted from 0, so that all pages are about as full."""
    places, title = (5, 1) if part is Part.PROBLEMS else (3, 0)
    if part is Part.KEY and any(len(answer.by_number) > 1 for answer in sheet.key):
        places = 2
    title += len(_terms(sheet)) > _FEW_TERMS
    taken = len(sheet.problems) + title
    pages = -(-taken // places)
    return {-(-taken * page // pages) - title for page in range(1, pages)}


@cache
def _environment() -> Environment:
    templates = environment(undefined=StrictUndefined, keep_trailing_newline=True, finalize=_harmless)
    templates.globals.update(tile=svg, marked=_marked, drawn=_drawn, others=_others, card=_card)
    templates.filters.update(
        css=_css_text,
        round=words.round_words,
        may_give=words.may_give,
        tokens=_tokens,
        chance=lambda reach: _unbroken(words.chance(reach)),
        loss=_loss,
        strength=_strength,
        closeness=lambda answer: words.lead_words(answer.closeness),
        passed=words.tiles_words,
        unbroken=_unbroken,
        noticed=_noticed,
    )
    return templates


def _harmless(shown: object) -> object:
    """Return what is shown, with a question mark for each mark that would reorder what stands around it."""
    is_text = isinstance(shown, str) and not isinstance(shown, Markup)
    return _REORDERING.sub("?", str(shown)) if is_text else shown


def _marked(rack: Sequence[Tile], passed: Sequence[Tile]) -> list[tuple[Tile, bool]]:
    """Return each tile of a rack, and whether it goes; of tiles alike the last ones go."""
    left, marks = Counter(passed), []
    for tile in reversed(rack):
        goes = left[tile] > 0
        left[tile] -= goes
        marks.append((tile, goes))
    return marks[::-1]


def _drawn(hand: SheetTarget, rack: Sequence[Tile], passed: Sequence[Tile]) -> Markup:
    """Return a drawing of a hand; what is not held after the pass is pale."""
    kept, marked = Counter(rack) - Counter(passed), []
    for tile in hand.target:
        marked.append((tile, kept[tile] > 0))
        kept[tile] -= 1
    return row(marked, words.tiles_words(hand.target))


def _others(answer: SheetAnswer) -> list[SheetLoss]:
    """Return the hands of the reason that are not drawn above it."""
    above = {each.name for each in (*answer.hands, *_noticed(answer.given_up))}
    return [each for each in answer.reasons if each.name not in above]


def _css_text(text: str) -> Markup:
    """Return a text as a string of CSS in which nothing but letters, digits and spaces stands as it is."""
    escaped = "".join(
        each if each.isascii() and (each.isalnum() or each == " ") else f"\\{ord(each):x} " for each in text
    )
    return Markup(f'"{escaped}"')


def _tokens(tiles: Sequence[Tile]) -> str:
    return " ".join(tile.value for tile in tiles)


def _unbroken(sentence: str) -> str:
    """Return a sentence in which no line ends between a number and its percent sign."""
    return sentence.replace(" %", "\u00a0%")


def _loss(gap: float, answer: SheetAnswer) -> str:
    return _unbroken(words.loss(gap, answer.strength))


def _strength(answer: SheetAnswer) -> str:
    says = f"rack strength {words.strength(answer.strength)}"
    if answer.limits_cost is None:
        return says
    cost, best = answer.limits_cost, answer.strength + answer.limits_cost
    return _unbroken(f"{says}; the limits cost {words.share_and_number(cost, best) if cost else 'nothing'}")


def _noticed(losses: Sequence[SheetLoss]) -> list[SheetLoss]:
    """Return the losses that can be seen in the numbers as they are shown."""
    return [loss for loss in losses if words.chance(loss.reach_before) != words.chance(loss.reach)]


def _card(sheet: SheetBody) -> str:
    """Return the card's title, and the name that requests call it if that is another."""
    title, name = sheet.card.title, sheet.card.name
    return title if title == name else f"{title} ({name})"


def _terms(sheet: SheetBody) -> list[str]:
    """Return what holds for every problem: difficulty, drill, arrivals and limits."""
    terms = []
    if sheet.difficulty in _DIFFICULTIES:
        terms.append(f"Chosen for {_DIFFICULTIES[sheet.difficulty]}.")
    if sheet.drill is not None:
        left = words.counted(sheet.drill.exchanges_left, "exchange")
        terms.append(f"One-person drill, {left} left, then {sheet.drill.then_draws} tiles drawn.")
    if sheet.arrivals is not None:
        coming = sheet.arrivals
        terms.append(
            f"To come: {coming.charleston} tiles by exchanges, {coming.draws} from the wall,"
            f" {coming.claims} discards you may call."
        )
    return terms + [f"Limit: {limit}." for limit in sheet.limits]


def _foot(sheet: SheetBody) -> str:
    """Return the line at the foot of every page: seed, card, versions."""
    seed = "own racks" if sheet.seed is None else f"seed {sheet.seed}"
    versions = f"threepass {sheet.versions.threepass}, ortools {sheet.versions.ortools}"
    return f"{seed} \u00b7 card {_card(sheet)} \u00b7 {versions}"


def table(sheet: SheetBody, part: Part) -> bytes:
    """Return a part of a sheet as CSV in UTF-8; the command reads it again as racks of one's own."""
    if part is Part.PROBLEMS:
        rows = [(*_row(sheet, problem), "", "") for problem in sheet.problems]
        return _csv([(*_PROBLEM, "pass", "notes"), *rows])
    entries = zip(sheet.problems, sheet.key, strict=True)
    rows = [(*_row(sheet, problem), *_answer(sheet, answer)) for problem, answer in entries]
    return _csv([(*_PROBLEM, *_KEY), *rows])


def class_table(problems: Iterable[ProblemBody]) -> str:
    """Return what pupils passed as CSV, a line a pupil and problem."""
    rows: list[tuple[object, ...]] = [_CLASS]
    for each in problems:
        about = each.number, each.card, each.round.value, _tokens(each.rack), _tokens(each.best or ())
        for made in each.made:
            rows += ((*about, pupil, _tokens(made.given), made.blind, made.lost) for pupil in made.pupils)
    return _csv(rows).decode()


def class_page(answer: ClassAnswer) -> str:
    """Return what a class did as one page of HTML with all it needs inside."""
    return _environment().get_template("class.html").render(answer=answer)


def _csv(rows: Iterable[Iterable[object]]) -> bytes:
    """Write rows; text that a spreadsheet would take for a formula gets an apostrophe before it."""
    written = io.StringIO(newline="")
    csv.writer(written).writerows(map(_safe, row) for row in rows)
    return written.getvalue().encode()


def _row(sheet: SheetBody, problem: SheetProblem) -> tuple[object, ...]:
    return (problem.number, sheet.seed, problem.index, problem.round.value, _tokens(problem.rack))


def _answer(sheet: SheetBody, answer: SheetAnswer) -> list[object]:
    return [
        *(_tokens(answer.passed), answer.blind, answer.strength, answer.expected_hands),
        None if answer.closeness is None else answer.closeness.value,
        *_filled(((_tokens(other.passed), other.gap) for other in answer.runner_ups), RUNNER_UPS, 2),
        *_filled(((hand.name, hand.family, hand.reach) for hand in answer.hands), KEPT, 3),
        *_filled(((loss.name, loss.reach_before, loss.reach) for loss in answer.given_up), GIVEN_UP, 3),
        *(answer.sentence, sheet.card.title, sheet.versions.threepass, sheet.versions.ortools),
    ]


def _filled(groups: Iterable[tuple[object, ...]], count: int, width: int) -> list[object]:
    cells = [cell for group in groups for cell in group]
    return cells + [None] * (count * width - len(cells))


def _safe(cell: object) -> object:
    return f"'{cell}" if isinstance(cell, str) and _FORMULA.match(cell) else cell
