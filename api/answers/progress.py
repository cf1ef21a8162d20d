"""What a player's graded passes tell: where they lose most, and which to play again."""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, datetime
from typing import Annotated

from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError

from api import words
from api.operations import bounded, operation
from api.reading import Answer, AnyRound, Name, Number, Request, Words, read_shape
from patterns.tiles import Tile
from solver.coach.insights import FEWEST, By, Played, groups_of
from solver.coach.repeats import repeats
from solver.coach.review import MAX_SECONDS
from solver.rounds import MAX_EXCHANGES, PASS_SIZE

MAX_PASSES = 2_000
# A rack has fewer, and no more than the set can have been passed.
_Tiles = Annotated[list[Annotated[Tile, Field(strict=False)]], Field(max_length=3 * MAX_EXCHANGES)]
_Share = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]
# Logs have years, and what is due can then be told.
_FIRST, _LAST = datetime(2000, 1, 1, tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC)


def _read_moment(written: object) -> datetime:
    with suppress(ValueError):
        at = datetime.fromisoformat(written) if isinstance(written, str) else None
        if at is not None and at.tzinfo is not None and _FIRST <= at < _LAST:
            return at
    raise PydanticCustomError("moment", "date, time and zone are wanted, of the years 2000 to 2199")


_Moment = Annotated[datetime, BeforeValidator(_read_moment)]


class PassFacts(Request):
    """A pass that was made and graded, as a practice log keeps it."""

    rack: _Tiles = Field(description="The rack before the pass")
    seen: _Tiles = Field(description="Own tiles passed before, not come back")
    round: AnyRound
    left: int | None = Field(
        ge=1, le=MAX_EXCHANGES, description="Exchanges left in a drill, this one among them; null: a table"
    )
    given: _Tiles
    best: _Tiles | None = Field(None, description="Own tiles of the best pass; null: not kept")
    blind: int = Field(ge=0, le=PASS_SIZE)
    seconds: float | None = Field(ge=0, le=MAX_SECONDS, allow_inf_nan=False)
    share: _Share = Field(description="What was lost as a share of the best")
    family: Name | None = Field(description="Of the hand that it gave up most of; null: nothing was lost")


class LoggedPass(PassFacts):
    """The same, and when and with which card it was made."""

    at: _Moment
    card: str


class ProgressRequest(Request):
    """Graded passes of one player."""

    passes: list[LoggedPass] = Field(max_length=MAX_PASSES)
    now: _Moment = Field(description="What is due is due by then")
    more_than: _Share = Field(0.03, description="A pass that lost more is to be played again")


class GroupBody(Answer):
    """Passes with something in common."""

    by: By
    name: Name
    passes: int
    mean: Number = Field(description="Mean loss, a share of the best")
    interval: tuple[Number, Number] | None = Field(description="Of the mean, at 95 %; null: too few passes")
    rest: Number | None = Field(description="Mean loss of the other passes that might have been in it")
    difference: tuple[Number, Number] | None = Field(
        description="Interval of mean less rest; at 95 % those of all groups hold together"
    )
    costs: bool = Field(description="Whether it is known to cost more than the rest")
    words: Words


class RepeatBody(Answer):
    """A pass to play again."""

    index: int = Field(description="Of its latest try among those sent")
    due: datetime
    times: int = Field(description="How often it was tried")


class ProgressAnswer(Answer):
    """Where a player loses, and what to play again."""

    passes: int
    groups: list[GroupBody] = Field(description="Those known to cost more first, the costliest at the top")
    due: list[RepeatBody] = Field(description="Due now, the longest due first")
    waiting: list[RepeatBody] = Field(description="Due later, the next one first")
    words: Words


@operation(
    "/v1/progress",
    reads=lambda task: read_shape(ProgressRequest, task.written),
    price=bounded,
    takes=ProgressRequest,
    gives=ProgressAnswer,
)
def progress(asked: ProgressRequest) -> ProgressAnswer:
    """Where a player loses, and which passes to play again.

    Graded passes by round, by time, by what was given and by direction given up, each group against the
    rest; nothing is claimed of few passes or where chance may explain it. Passes that lost more than a share
    are due again after a time that depends on how each try of them went (spaced repetition).
    """
    passes = [Played(**dict(each)) for each in asked.passes]
    groups, found = groups_of(passes), repeats(passes, asked.more_than)
    due = [RepeatBody.of(each) for each in found if each.due <= asked.now]
    waiting = [RepeatBody.of(each) for each in found[len(due) :]]
    return ProgressAnswer(
        passes=len(passes),
        groups=[
            GroupBody.of(each, words=words.group_words(each, costliest=index == 0))
            for index, each in enumerate(groups)
        ],
        due=due,
        waiting=waiting,
        words={
            "where": words.insight_words(groups, len(passes), FEWEST),
            "again": words.repeats_words(len(due), len(waiting)),
        },
    )
