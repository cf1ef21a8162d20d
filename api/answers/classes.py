"""What a class did with the same racks: who passed what, and what was lost by problem and by pupil."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from math import fsum

from pydantic import Field

from api import words
from api.answers.progress import MAX_PASSES, LoggedPass
from api.operations import Task, bounded, operation
from api.reading import Name, Number, Parts, Request, Spoken, Words, read_shape
from patterns.tiles import Tile
from solver.insights import Played
from solver.rounds import PASS_SIZE, RULES, Round

MAX_PUPILS = 100


class PupilPasses(Request):
    """A pupil, and the graded passes of their log."""

    name: Name
    passes: list[LoggedPass] = Field(max_length=MAX_PASSES)


class ClassRequest(Request):
    """Graded passes of the pupils of a class."""

    pupils: list[PupilPasses] = Field(min_length=1, max_length=MAX_PUPILS)
    files: bool = Field(False, description="Whether `csv` and `html` are wanted")


class MadeBody(Spoken):
    """A pass of a problem, and who made it."""

    given: list[Tile]
    blind: int
    lost: Number = Field(description="A share of the best")
    pupils: list[str]

    def said(self) -> Words:
        """Return a row of a table."""
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

    def said(self) -> Words:
        """Return its title, the best pass, and how it went."""
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

    def said(self) -> Words:
        """Return a row of a table."""
        return {
            "passes": f"{self.passes:,}",
            "lost": "-" if self.mean is None else words.percent(self.mean),
            "worst": "-" if self.worst is None else f"problem {self.worst}, {words.percent(self.most)}",
        }


class ClassAnswer(Spoken):
    """The problems of a class, and its pupils."""

    problems: list[ProblemBody] = Field(description="What cost the class most first")
    pupils: list[PupilBody] = Field(description="By name")
    alone: int = Field(description="Passes of racks that only one pupil had; not counted")
    again: int = Field(description="Later tries of the same pupil; not counted")
    csv: str | None = Field(description="A line a pupil and problem; null: not wanted")
    html: str | None = Field(description="A page to print; null: not wanted")

    def said(self) -> Words:
        """Return what to talk about first, and what is not counted."""
        talk = "No two pupils passed the same rack: a lesson has the same racks for all by its seed."
        if self.problems:
            first = self.problems[0]
            talk = f"Talk about p{str(first.words['title'])[1:]} first: {first.words['lost']}."
            if not first.otherwise:
                talk = "Every pass was as good as the best."
        left = {
            "that only one pupil had": self.alone,
            "that the same pupil had passed before": self.again,
        }
        told = [f"{words.counted(count, 'pass')} of racks {which}" for which, count in left.items() if count]
        return {"talk": talk, "not_counted": f"Not counted: {', '.join(told)}." if told else None}


_Try = tuple[str, Played]


@operation(
    "/v1/classes", reads=lambda task: _read(task), price=bounded, takes=ClassRequest, gives=ClassAnswer
)
def classes(asked: ClassRequest) -> ClassAnswer:
    """Who passed what from the same racks, and which to talk about.

    Passes are of one problem when rack, tiles passed before, round, exchanges left and card are the same. Of
    each pupil the first try counts, as the verdict follows it.
    """
    tried: dict[Hashable, list[_Try]] = defaultdict(list)
    for pupil in asked.pupils:
        first: dict[Hashable, Played] = {}
        for each in sorted((Played(**dict(each)) for each in pupil.passes), key=lambda each: each.at):
            first.setdefault(each.asked, each)
        for problem, each in first.items():
            tried[problem].append((pupil.name, each))
    shared = [sorted(each, key=_when) for each in tried.values() if len(each) > 1]
    shared.sort(key=lambda tries: (_when(tries[0]), repr(tries[0][1].asked)))
    problems = [_problem(number, tries) for number, tries in enumerate(shared, 1)]
    answer = ClassAnswer(
        problems=sorted(problems, key=lambda each: -each.mean * each.pupils),
        pupils=[_pupil(name, shared) for name in sorted(pupil.name for pupil in asked.pupils)],
        alone=sum(len(each) == 1 for each in tried.values()),
        again=sum(len(pupil.passes) for pupil in asked.pupils) - sum(map(len, tried.values())),
        csv=None,
        html=None,
    )
    if not asked.files:
        return answer
    from api.sheets.files import class_page, class_table

    return answer.model_copy(update={"csv": class_table(problems), "html": class_page(answer)})


def _read(task: Task) -> ClassRequest:
    body, parts = read_shape(ClassRequest, task.written), Parts(task.written)
    names = [pupil.name for pupil in body.pupils]
    for index, name in enumerate(names):
        if name in names[:index]:
            parts.add("same-name", ("pupils", index, "name"), f"two pupils are called {name}")
    parts.check()
    return body


def _when(one: _Try) -> tuple[float, str]:
    return one[1].at.timestamp(), one[0]


def _mean(tries: Sequence[_Try]) -> float:
    return fsum(each.share for _, each in tries) / len(tries)


def _problem(number: int, tries: Sequence[_Try]) -> ProblemBody:
    """Return what a class did with a problem; of tries in the order of time."""
    made: dict[tuple[Iterable[Tile], int], list[_Try]] = defaultdict(list)
    for name, each in sorted(tries, key=lambda one: one[0]):
        made[tuple(words.in_order(each.given)), each.blind].append((name, each))
    bodies = [
        MadeBody(given=list(given), blind=blind, lost=_mean(same), pupils=[name for name, _ in same])
        for (given, blind), same in made.items()
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
        mean=_mean(tries),
        made=sorted(bodies, key=lambda each: (each.lost, -len(each.pupils))),
    )


def _pupil(name: str, shared: Sequence[Sequence[_Try]]) -> PupilBody:
    own = {at: one for at, tries in enumerate(shared, 1) for one in tries if one[0] == name}
    worst = max(own, key=lambda number: own[number][1].share, default=None)
    most = 0.0 if worst is None else own[worst][1].share
    return PupilBody(
        name=name,
        passes=len(own),
        mean=_mean(list(own.values())) if own else None,
        worst=worst if most else None,
        most=most,
    )
