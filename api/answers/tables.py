"""A table to practice at: three careful players pass from racks of their own, as she has passed."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from api.answers.cards import DEFAULT_CARD, CardAsWritten, read_card
from api.operations import Task, operation
from api.reading import Answer, AnyRound, Parts, Request, Seed, Tiles, Words, read_tiles
from patterns.card import Card
from patterns.tiles import Tile, number_word
from solver.price import passing
from solver.rounds import ORDER, PASS_SIZE, Round
from solver.table.lap import Passed, TableLap, table_lap


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


def _asked(task: Task) -> tuple[TablesRequest, Card, tuple[Passed, ...]]:
    parts = Parts(task.written)
    body = parts.shape(TablesRequest)
    places = range(min(parts.length("exchanges"), len(ORDER)))
    given = [parts.part(("exchanges", place, "given"), read_tiles) for place in places]
    named = parts.part(("card",), lambda card: read_card(card, task.cards), DEFAULT_CARD)
    parts.check()
    assert body is not None and named is not None  # or there would have been a fault
    made = zip(body.exchanges, given, strict=True)
    passes = tuple(Passed(each.round, tiles or (), each.blind) for each, tiles in made)
    return body, named.card, passes


@operation(
    "/v1/tables",
    reads=_asked,
    price=lambda asked: passing(asked[1], len(asked[2])),
    takes=TablesRequest,
    gives=TableAnswer,
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
