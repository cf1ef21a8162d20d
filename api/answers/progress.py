"""What graded passes tell: where a player loses most, which to play again, and how a class did."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from statistics import fmean
from typing import Annotated

from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError

from api import words
from api.operations import bounded, operation, shaped
from api.reading import Answer, AnyRound, Name, Number, Request, Spoken, Words
from patterns.tiles import Tile
from solver.coach.insights import FEWEST, By, Played, groups_of, repeats
from solver.coach.review import MAX_SECONDS
from solver.rounds import MAX_EXCHANGES, PASS_SIZE, RULES, Round

MAX_PASSES = 2_000
MAX_PUPILS = 100
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


@operation("/v1/progress", ProgressRequest, reads=shaped, price=bounded)
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


class ClassRequest(Request):
    """Graded passes of the pupils of a class."""

    pupils: dict[Name, Annotated[list[LoggedPass], Field(max_length=MAX_PASSES)]] = Field(
        min_length=1, max_length=MAX_PUPILS, description="The passes of each pupil, by name"
    )
    files: bool = Field(False, description="Whether `csv` and `html` are wanted")


class MadeBody(Spoken):
    """A pass of a problem, and who made it."""

    given: list[Tile]
    blind: int
    lost: Number = Field(description="A share of the best")
    pupils: list[str]

    def _said(self) -> Words:
        given = words.tiles_words(self.given, self.blind)
        return {"given": given, "lost": words.percent(self.lost), "pupils": ", ".join(self.pupils)}


class ProblemBody(Spoken):
    """A rack and round that two pupils or more had; of each the first try counts."""

    number: int = Field(description="In the order in which they were first played")
    card: str
    rack: list[Tile]
    round: Round
    best: list[Tile] | None = Field(description="null: no log has it, and nobody found it")
    pupils: int
    otherwise: int = Field(description="Pupils who lost something")
    mean: Number = Field(description="Mean loss, a share of the best")
    made: list[MadeBody] = Field(description="What lost least first")

    def _said(self) -> Words:
        best = "nobody found it"
        if self.best is not None:
            blind = PASS_SIZE - len(self.best) if RULES[self.round].blind else 0
            best = words.tiles_words(self.best, blind)
        lost = f"{words.percent(self.mean)} lost on average"
        return {
            "title": f"Problem {self.number} ({words.round_words(self.round).lower()})",
            "best": best,
            "lost": f"{self.otherwise} of {self.pupils} passed otherwise, {lost}",
        }


class PupilBody(Spoken):
    """How a pupil did with the problems of the class."""

    name: str
    passes: int
    mean: Number | None = Field(description="Mean loss; null: no passes")
    worst: int | None = Field(description="Number of the problem that cost most; null: none cost anything")
    most: Number = Field(description="What that one lost")

    def _said(self) -> Words:
        return {
            "passes": f"{self.passes:,}",
            "lost": "-" if self.mean is None else words.percent(self.mean),
            "worst": "-" if self.worst is None else f"problem {self.worst}, {words.percent(self.most)}",
        }


class ClassAnswer(Spoken):
    """The problems of a class, and its pupils."""

    problems: list[ProblemBody] = Field(description="What cost the class most first")
    pupils: list[PupilBody] = Field(description="By name")
    not_counted: int = Field(description="Racks that one pupil only had, and later tries of a pupil")
    csv: str | None = Field(description="A line a pupil and problem; null: not wanted")
    html: str | None = Field(description="A page to print; null: not wanted")

    def _said(self) -> Words:
        talk = "No two pupils passed the same rack: a lesson has the same racks for all by its seed."
        if self.problems:
            first = self.problems[0]
            talk = f"Talk about {str(first.words['title']).lower()} first: {first.words['lost']}."
            if not first.otherwise:
                talk = "Every pass was as good as the best."
        left = f"Not counted: {words.counted(self.not_counted, 'pass')}"
        left += ", as no other pupil had the rack or it was not the first try."
        return {"talk": talk, "not_counted": left if self.not_counted else None}


_Try = tuple[str, Played]


@operation("/v1/classes", ClassRequest, tag="classes", reads=shaped, price=bounded)
def classes(asked: ClassRequest) -> ClassAnswer:
    """Who passed what from the same racks, and which to talk about.

    Passes are of one problem when rack, tiles passed before, round, exchanges left and card are the same. Of
    each pupil the first try counts, as the verdict follows it.
    """
    tried: dict[Hashable, list[_Try]] = defaultdict(list)
    for name, passes in sorted(asked.pupils.items()):
        made = sorted((Played(**dict(each)) for each in passes), key=lambda each: each.at, reverse=True)
        for problem, first in {each.asked: each for each in made}.items():
            tried[problem].append((name, first))
    shared = [tries for tries in tried.values() if len(tries) > 1]
    shared.sort(key=lambda tries: (min(each.at for _, each in tries), repr(tries[0][1].asked)))
    problems, own = [], {name: dict[int, float]() for name in sorted(asked.pupils)}
    for number, tries in enumerate(shared, 1):
        problems.append(_problem(number, tries))
        for name, each in tries:
            own[name][number] = each.share
    answer = ClassAnswer(
        problems=sorted(problems, key=lambda each: -each.mean * each.pupils),
        pupils=[_pupil(name, shares) for name, shares in own.items()],
        not_counted=sum(map(len, asked.pupils.values())) - sum(map(len, shared)),
        csv=None,
        html=None,
    )
    if not asked.files:
        return answer
    from api.sheets.files import class_page, class_table

    return answer.model_copy(update={"csv": class_table(problems), "html": class_page(answer)})


def _problem(number: int, tries: Sequence[_Try]) -> ProblemBody:
    by_pass: dict[tuple[tuple[Tile, ...], int], dict[str, float]] = defaultdict(dict)
    for name, each in tries:
        by_pass[tuple(words.in_order(each.given)), each.blind][name] = each.share
    made = [
        MadeBody(given=list(given), blind=blind, lost=fmean(lost.values()), pupils=list(lost))
        for (given, blind), lost in by_pass.items()
    ]
    best = [each.best for _, each in tries if each.best is not None]
    best += [each.given for _, each in tries if not each.share]
    one = tries[0][1]
    return ProblemBody(
        number=number,
        card=one.card,
        rack=words.in_order(one.rack),
        round=one.round,
        best=words.in_order(best[0]) if best else None,
        pupils=len(tries),
        otherwise=sum(each.share > 0 for _, each in tries),
        mean=fmean(each.share for _, each in tries),
        made=sorted(made, key=lambda each: (each.lost, -len(each.pupils))),
    )


def _pupil(name: str, shares: Mapping[int, float]) -> PupilBody:
    worst = max(shares, key=shares.__getitem__, default=None)
    most = 0.0 if worst is None else shares[worst]
    mean = fmean(shares.values()) if shares else None
    return PupilBody(name=name, passes=len(shares), mean=mean, worst=worst if most else None, most=most)
