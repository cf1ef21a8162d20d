"""Deals to practice on, reproducible and of measured difficulty, and a table of careful players for one."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import partial
from typing import Annotated, Any, TypeVar

from pydantic import Field

from api.answers.advice import closeness_body
from api.answers.cards import DEFAULT_CARD, CardAsWritten, NamedCard, read_card
from api.answers.question import AskedObjective, DrillBody, LimitsBody, card_and_limits, drill_of
from api.operations import Task, operation
from api.reading import Answer, AnyRound, Name, Number, Parts, Pass, Request, Seed, Tiles, Words
from api.words import in_order
from patterns.card import HAND_SIZE, Card
from patterns.rack import RACK_SIZES
from patterns.tiles import Tile, number_word
from solver.advice import Closeness
from solver.coach.compose import Composition, Copies, Near, RackWish, compose, hands_called
from solver.deals import MAX_BUDGET, DealWish, Difficulty, FoundDeal, find_deals
from solver.price import composing, dealing, passing
from solver.rounds import DRILL_RACK, ORDER, PASS_SIZE, Round
from solver.situation import Objective
from solver.table.lap import Passed, TableLap, table_lap

MAX_DEALS = 50
MAX_NEAR = 6
# What is called the same in a request and in a wish.
_OF_WISH = ("count", "start", "difficulty", "family", "jokers", "budget", "objective")


class DealChoice(Request):
    """Which deals are wanted of all those a seed gives."""

    seed: Seed | None = Field(None, description="The same number gives the same deals")
    count: int = Field(1, ge=1, le=MAX_DEALS)
    start: Seed = Field(0, description="First index to try")
    tiles: int = Field(RACK_SIZES[1], ge=RACK_SIZES[0], le=RACK_SIZES[1], description="Tiles in the rack")
    difficulty: Annotated[Difficulty, Field(strict=False)] = Difficulty.ANY
    family: Name | None = Field(None, description="Of the likeliest hand after the best pass")
    jokers: int | None = Field(
        None, ge=0, le=Tile.JOKER.copies, description="Exactly this many in the rack; null: any number"
    )
    budget: int = Field(100, ge=1, le=MAX_BUDGET, description="Most deals to try")
    drill: DrillBody | None = Field(None, description="null: a table of four")
    objective: AskedObjective = Objective.STRENGTH


class DealsRequest(DealChoice):
    """What deals are wanted."""

    seed: Seed = Field(description="The same number gives the same deals")
    card: CardAsWritten = Field(DEFAULT_CARD)
    limits: LimitsBody = Field(
        default_factory=lambda: LimitsBody(),
        description="Of every first pass; no tiles can be named, as no one rack has them",
    )
    round: AnyRound = Field(Round.FIRST_RIGHT, description="The round whose pass a deal is measured by")
    heap: bool = Field(default=False, description="Whether to list the tiles that come in, in order")
    answers: bool = Field(default=False, description="Whether to tell the best pass")


class NearBody(Request):
    """So many tiles away from some hands."""

    name: Name = Field(description="A hand, a family, or a hand of a family as `hand/family`")
    away: int = Field(ge=0, le=HAND_SIZE, description="What the nearest of their targets lacks, exactly")


class CompositionsRequest(DealsRequest):
    """What racks are to be composed; `start` and the seed name how."""

    near: Annotated[list[NearBody], Field(max_length=MAX_NEAR)] = Field(default_factory=list)
    flowers: int | None = Field(
        None, ge=0, le=Tile.FLOWER.copies, description="Exactly this many in the rack; null: any number"
    )
    holds: Tiles = Field(default_factory=tuple, description="Tiles in it; twice the same: at least two of it")
    apart: int = Field(4, ge=1, le=HAND_SIZE, description="Tiles by which any two racks differ at least")
    budget: int = Field(50, ge=1, le=MAX_BUDGET, description="Most racks to try")


class DealBody(Answer):
    """One deal and how hard its first pass is."""

    index: int = Field(description="With the seed, names the deal")
    rack: list[Tile]
    closeness: Closeness | None
    gap: Number | None
    share: Number | None
    family: str | None = Field(description="Of the likeliest hand after the best pass")
    heap: list[Tile] | None
    passed: Pass | None = Field(serialization_alias="pass")
    words: Words


class DealsAnswer(Answer):
    """The deals found."""

    deals: list[DealBody]
    complete: bool = Field(description="Whether as many were found as were wanted")
    tried: int
    seed: int


def check_choice(parts: Parts, body: DealChoice, named: NamedCard | None) -> None:
    """Make faults of what the card or a drill does not have."""
    if named is not None and body.family is not None and body.family not in named.card.families:
        parts.add("unknown-name", ("family",), f"the card has no {body.family!r} among its families")
    if body.drill is not None and body.tiles != DRILL_RACK:
        parts.add("range", ("tiles",), f"a drill has {DRILL_RACK} tiles")


def chosen_deals(named: NamedCard, choice: DealChoice, **more: Any) -> DealWish:
    """Return the wish for what was chosen; `more` are its seed, limits and round, and arrivals."""
    same = {name: getattr(choice, name) for name in _OF_WISH}
    return DealWish(card=named.card, size=choice.tiles, drill=drill_of(choice.drill), **same, **more)


def _deal(found: FoundDeal, body: DealsRequest) -> DealBody:
    advice = found.advice
    closeness = closeness_body(advice)
    family = advice.hands[0].hand.family if advice.hands else None
    return DealBody.of(
        closeness,
        index=found.deal.index,
        rack=found.deal.rack.tiles,
        closeness=closeness.word,
        family=family,
        heap=found.deal.heap if body.heap else None,
        passed=advice.passed if body.answers else None,
        words={"closeness": "-" if closeness.word is None else closeness.word.value, "family": family or "-"},
    )


Wanted = TypeVar("Wanted", bound=DealsRequest)


def _asked(task: Task, shape: type[Wanted]) -> tuple[Wanted, DealWish]:
    parts = Parts(task.written)
    body = parts.shape(shape)
    no_tiles = "tiles that must stay or go are of one rack: they limit no deal"
    named, limits = card_and_limits(parts, task.cards, body.card, body.limits, no_tiles=no_tiles)
    check_choice(parts, body, named)
    if isinstance(body, CompositionsRequest):
        for place, near in enumerate(body.near):
            if named is not None and not hands_called(named.card, near.name):
                parts.add("unknown-name", ("near", place, "name"), f"the card has no {near.name!r}")
        if body.apart > body.tiles:
            parts.add("range", ("apart",), f"1 to {body.tiles}, as many as are in a rack")
    parts.check()
    assert named is not None  # or there would have been a fault
    return body, chosen_deals(named, body, seed=body.seed, limits=limits, round=body.round)


def _asked_composition(
    task: Task, shape: type[CompositionsRequest]
) -> tuple[CompositionsRequest, Composition]:
    body, wish = _asked(task, shape)
    wishes: list[RackWish] = [Near(("near", at), each.name, each.away) for at, each in enumerate(body.near)]
    for name, tile, exactly in (("jokers", Tile.JOKER, body.jokers), ("flowers", Tile.FLOWER, body.flowers)):
        if exactly is not None:
            wishes.append(Copies((name,), tile, exactly, exactly))
    wishes += [Copies(("holds",), tile, least) for tile, least in Counter(in_order(body.holds)).items()]
    return body, Composition(replace(wish, jokers=None), tuple(wishes), body.apart)


@operation("/v1/deals", DealsRequest, reads=_asked, price=lambda asked: dealing(asked[1]))
def deals(asked: tuple[DealsRequest, DealWish]) -> DealsAnswer:
    """Racks from a seed, by measured difficulty.

    Deals, measures, and returns the deals that fit; the same seed gives the same deals everywhere. When the
    budget ends before enough were found, `complete` is false and those found are returned.
    """
    body, wish = asked
    return _answer(body, *find_deals(wish))


@operation(
    "/v1/compositions", CompositionsRequest, reads=_asked_composition, price=lambda asked: composing(asked[1])
)
def compositions(asked: tuple[CompositionsRequest, Composition]) -> DealsAnswer:
    """Racks made for a lesson: so far from hands, with given tiles, each unlike the others.

    Composes racks to what is wished, measures them as deals, and returns those that fit; wishes that no rack
    fits are faults, as few as clash. When the budget ends before enough were found, or no other rack is so
    far apart from those found (then fewer were `tried`), `complete` is false.
    """
    body, composition = asked
    return _answer(body, *compose(composition))


def _answer(body: DealsRequest, found: list[FoundDeal], tried: int) -> DealsAnswer:
    return DealsAnswer(
        deals=[_deal(each, body) for each in found],
        complete=len(found) == body.count,
        tried=tried,
        seed=body.seed,
    )


class TablePass(Request):
    """A pass of hers."""

    round: AnyRound
    given: Tiles
    blind: int = Field(0, ge=0, le=PASS_SIZE, description="Incoming tiles that go on unseen")


class TablesRequest(Request):
    """A deal, and what she has passed of it."""

    seed: Seed
    index: Seed = Field(0, description="With the seed, names the deal: her rack is that of `/v1/deals`")
    card: CardAsWritten = Field(DEFAULT_CARD, description="The card that the others play")
    exchanges: Annotated[list[TablePass], Field(max_length=len(ORDER))] = Field(default_factory=list)


class TableAnswer(Answer):
    """How the table stands."""

    rack: list[Tile] = Field(description="Her tiles now")
    received: list[list[Tile]] = Field(description="What came in at each of her passes")
    stopped: bool | None = Field(
        description="Whether one of the others stops the second Charleston; null before it is asked"
    )
    rounds: list[Round] = Field(
        description="What may come next: nothing at the end, two rounds where she may stop the second herself"
    )
    most: int = Field(description="Most tiles that the player across wishes to exchange at the courtesy pass")
    words: Words


def _asked_table(task: Task, shape: type[TablesRequest]) -> tuple[TablesRequest, Card, tuple[Passed, ...]]:
    parts = Parts(task.written)
    body = parts.shape(shape)
    named = parts.read(partial(read_card, shelf=task.cards), body.card, "card")
    parts.check()
    assert named is not None  # or there would have been a fault
    return body, named.card, tuple(Passed(**dict(each)) for each in body.exchanges)


@operation(
    "/v1/tables",
    TablesRequest,
    tag="tables",
    reads=_asked_table,
    price=lambda asked: passing(asked[1], len(asked[2])),
)
def tables(asked: tuple[TablesRequest, Card, tuple[Passed, ...]]) -> TableAnswer:
    """A table of three careful players, after her passes.

    The others pass from racks of their own; all they do follows from the deal and from her passes. Ask
    without any, then again with one more after each pass. Where two rounds may come next, a courtesy pass
    stops the second Charleston.
    """
    body, card, passes = asked
    lap = table_lap(card, body.seed, body.index, passes)
    return TableAnswer.of(lap, rack=lap.rack.tiles, words={"table": _says(lap, len(passes))})


def _says(lap: TableLap, passes: int) -> str | None:
    wish = f"a courtesy pass of up to {number_word(lap.most)}" if lap.most else "no courtesy pass"
    across = f"The player across wishes for {wish}."
    if not lap.rounds:
        return None
    if lap.stopped and passes == len(ORDER) // 2:
        return f"One of the others stops the second Charleston. {across}"
    if len(lap.rounds) > 1:
        return f"The others would play the second Charleston. {across}"
    return across if lap.rounds[0] is Round.COURTESY else None
