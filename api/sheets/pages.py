"""A sheet as a page of HTML that prints well by itself and is what the PDF is made from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from api.sheets import words
from api.sheets.tiles import svg
from api.wire.sheets import Paper, Part, SheetAnswer, SheetBody
from patterns.tiles import Tile

TITLES = {Part.PROBLEMS: "What should I pass?", Part.KEY: "Answer key"}
_SIZES = {Paper.A4: "A4", Paper.LETTER: "letter"}


def page(sheet: SheetBody, part: Part, paper: Paper) -> str:
    """Return a part of a sheet as one page of HTML with all it needs inside."""
    answers: Sequence[SheetAnswer | None] = sheet.key or [None] * len(sheet.problems)
    template = _environment().get_template(f"{part.value}.html")
    return template.render(
        title=TITLES[part],
        sheet=sheet,
        paper=_SIZES[paper],
        entries=list(zip(sheet.problems, answers, strict=True)),
        terms=words.terms_of(sheet),
        foot=words.foot_of(sheet),
    )


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("api.sheets"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.globals.update(tile=svg, marked=_marked)
    environment.filters.update(
        css=_css_text,
        round=words.round_words,
        may_give=words.may_give,
        tokens=words.tokens,
        percent=words.percent,
        gap=words.gap_words,
        call=words.call_words,
        passed=words.pass_words,
        unbroken=words.unbroken,
        noticed=words.noticed,
    )
    environment.globals.update(card=words.card_words, source=words.source_words)
    return environment


def _marked(rack: Sequence[Tile], passed: Sequence[Tile]) -> list[tuple[Tile, bool]]:
    """Return each tile of a rack, and whether it goes; of tiles alike the last ones go."""
    left, marks = Counter(passed), []
    for tile in reversed(rack):
        goes = left[tile] > 0
        left[tile] -= goes
        marks.append((tile, goes))
    return marks[::-1]


def _css_text(text: str) -> Markup:
    """Return a text as a string of CSS in which nothing but letters, digits and spaces stands as it is."""
    escaped = "".join(
        each if each.isascii() and (each.isalnum() or each == " ") else f"\\{ord(each):x} " for each in text
    )
    return Markup(f'"{escaped}"')
