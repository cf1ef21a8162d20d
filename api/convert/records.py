"""Records of Charlestons from the wire, with every fault named at once."""

from __future__ import annotations

from dataclasses import dataclass, replace

from api.cards import CardShelf
from api.convert.card_and_limits import CardAndLimits
from api.convert.parts import Parts, allowed_effort, read_rack, read_tiles
from api.wire.advice import ArrivalsBody
from api.wire.reviews import MAX_RECORDS, RecordBody, ReviewsRequest
from patterns.faults import Fault, FaultyInputError
from patterns.rack import Rack
from patterns.tiles import Tile
from solver.arrivals import Arrivals, default_arrivals
from solver.review import Exchange, Record
from solver.rounds import MAX_EXCHANGES, MAX_THEN_DRAWS, PASS_SIZE
from solver.situation import Question


@dataclass(frozen=True)
class _Contents:
    """What was read of a record by content; what cannot be read is None here and among the faults."""

    rack: Rack | None
    both: CardAndLimits
    exchanges: list[tuple[tuple[Tile, ...] | None, tuple[Tile, ...] | None]]

    @classmethod
    def read(cls, parts: Parts, shelf: CardShelf, index: int) -> _Contents:
        place = ("records", index)
        rack = parts.part((*place, "rack"), read_rack)
        both = CardAndLimits.read(parts, shelf, *place)
        both.refuse_tiles(parts, "tiles that must stay or go are of one rack: a record has many")
        turns = min(parts.length(*place, "exchanges"), MAX_EXCHANGES)
        exchanges = [
            (
                parts.part((*place, "exchanges", turn, "given"), read_tiles),
                parts.part((*place, "exchanges", turn, "received"), read_tiles),
            )
            for turn in range(turns)
        ]
        return cls(rack, both, exchanges)


def records_of(written: object, shelf: CardShelf, max_effort: float) -> tuple[list[Record], float]:
    """Read records and the effort for each pass.

    Raises:
        FaultyInputError: every fault of every record.
    """
    parts = Parts(written)
    body = parts.shape(ReviewsRequest)
    laps = min(parts.length("records"), MAX_RECORDS)
    contents = [_Contents.read(parts, shelf, index) for index in range(laps)]
    if body is None:
        raise FaultyInputError(parts.faults)
    read = [_record(parts, *pair) for pair in zip(body.records, contents, strict=True)]
    effort = allowed_effort(parts, body.effort, max_effort, named="effort" in body.model_fields_set)
    parts.check()
    return [record for record in read if record is not None], effort


def _record(parts: Parts, body: RecordBody, contents: _Contents) -> Record | None:
    limits, named = contents.both.limits(parts, body.limits), contents.both.named
    exchanges = [
        Exchange(exchange.round, given, received, exchange.blind, exchange.seconds)
        for exchange, (given, received) in zip(body.exchanges, contents.exchanges, strict=True)
        if given is not None and received is not None
    ]
    if contents.rack is None or named is None or len(exchanges) < len(body.exchanges):
        return None
    with parts.collecting(*contents.both.place):
        record = Record(
            named.card, contents.rack, tuple(exchanges), body.drill, _arrivals(body.arrivals), limits
        )
        _check_arrivals(record)
        return record
    return None


def _check_arrivals(record: Record) -> None:
    """Refuse more draws and claims than there are tiles for at any moment of a record.

    Raises:
        FaultyInputError: there are too many.
    """
    if record.arrivals is None:
        return
    if record.drill:
        if record.arrivals.draws > MAX_THEN_DRAWS:
            detail = f"a drill draws at most {MAX_THEN_DRAWS} tiles"
            raise FaultyInputError([Fault("range", ("arrivals", "draws"), detail)])
        return
    rounds = [exchange.round for exchange in record.exchanges]
    for moment, round_ in zip(record.moments(), (*rounds, rounds[-1]), strict=True):
        exchanged = default_arrivals(round_, PASS_SIZE).charleston
        arrivals = replace(record.arrivals, charleston=exchanged)
        Question(record.card, moment.rack, round_, arrivals=arrivals, seen=moment.seen)


def _arrivals(body: ArrivalsBody | None) -> Arrivals | None:
    return None if body is None else Arrivals(0, body.draws, body.claims)
