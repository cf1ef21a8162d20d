"""Reading what a client sent, part by part, so that the faults of all parts are named together."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from copy import copy
from functools import cache
from typing import TYPE_CHECKING, Annotated, Any, NoReturn, Self, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    ValidationError,
    computed_field,
    create_model,
)

from api.words import in_order
from patterns.card_file import MAX_NAME, shape_faults
from patterns.faults import Fault, FaultyInputError
from patterns.rack import MAX_TEXT, MAX_TOKENS, Rack, parse_rack, parse_tiles
from patterns.tiles import Tile
from solver.rounds import Round

DECIMALS = 12
# No shape has more objects inside one another.
_DEEPEST = 8
Place = tuple[str | int, ...]


class Request(BaseModel):
    """Something a client sends: unknown members and silent conversions are refused."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class _Together:
    """An object with more attributes, or others."""

    def __init__(self, made: object, more: Mapping[str, object]) -> None:
        self._made = made
        self._more = more

    def __getattr__(self, name: str) -> object:
        return self._more[name] if name in self._more else getattr(self._made, name)


class Answer(BaseModel):
    """Something a client gets; members are written in the order they are declared.

    It can be read off an object of the solver's: each member is the attribute of its name, or the one that
    its ``validation_alias`` names.
    """

    model_config = ConfigDict(frozen=True, from_attributes=True)

    @classmethod
    def of(cls, made: object, **more: object) -> Self:
        """Read it off an object of the solver's; what that lacks, or has in another form, is named."""
        return cls.model_validate(_Together(made, more))


Words = dict[str, str | None]


class Spoken(Answer):
    """Something a client gets in words too."""

    @computed_field(description="The same for people, ready to print")  # type: ignore[prop-decorator]
    @property
    def words(self) -> Words:
        """The same for people: texts by name, None where there is nothing to say."""
        return self._said()

    def _said(self) -> Words:
        raise NotImplementedError


def rounded(number: float) -> float:
    """Return a number as it is written in an answer."""
    return round(number, DECIMALS) + 0.0  # adding zero turns -0.0 into 0.0


# Rounded so that an answer is the same bytes on every machine.
Number = Annotated[float, AfterValidator(rounded)]
# For a bound on rounding, which may be smaller than any decimal that is written.
Resolution = Annotated[float, AfterValidator(lambda number: float(f"{number:.3g}"))]
# Tiles in the fixed order, called `pass` on the wire.
Pass = Annotated[list[Tile], BeforeValidator(in_order)]
AnyRound = Annotated[Round, Field(strict=False)]
Seed = Annotated[int, Field(ge=0, le=2**63 - 1)]
Name = Annotated[str, Field(min_length=1, max_length=MAX_NAME)]
Text = Annotated[str, Field(max_length=MAX_TEXT)]
Shape = TypeVar("Shape", bound=Request)
Read = TypeVar("Read")


class NotJsonError(Exception):
    """The body is not UTF-8 or not JSON; the message says where."""


def _refuse(constant: str) -> NoReturn:
    raise NotJsonError(f"{constant} is not a number of JSON")


class _Ambiguous(dict[str, object]):
    """An object in which a name stands more than once."""

    names: Sequence[str] = ()


def _find_twice(value: object, place: Place, faults: list[Fault]) -> None:
    """Collect the faults of names that stand twice, in order, however deeply they are nested."""
    if isinstance(value, _Ambiguous):
        detail = "this name stands more than once in its object"
        faults += [Fault("duplicate", (*place, name), detail) for name in value.names]
    parts = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, part in parts:
        _find_twice(part, (*place, step), faults)


def parse_json(body: bytes) -> object:
    """Return the value that a body stands for.

    Raises:
        NotJsonError: it is not UTF-8, not JSON, nested too deeply, or has a number of thousands of digits.
        FaultyInputError: names that stand more than once in one object, told alone.
    """
    ambiguous: list[_Ambiguous] = []
    faults: list[Fault] = []

    def made(members: list[tuple[str, object]]) -> dict[str, object]:
        found = dict(members)
        if len(found) == len(members):
            return found
        names = Counter(name for name, _ in members)
        ambiguous.append(_Ambiguous(found))
        ambiguous[-1].names = [name for name, times in names.items() if times > 1]
        return ambiguous[-1]

    try:
        value = json.loads(body.decode("utf-8-sig"), parse_constant=_refuse, object_pairs_hook=made)
        if ambiguous:
            _find_twice(value, (), faults)
    except UnicodeDecodeError as error:
        raise NotJsonError(f"not UTF-8 at byte {error.start}") from None
    except json.JSONDecodeError as error:
        byte = len(error.doc[: error.pos].encode("utf-8"))
        at = f"line {error.lineno}, column {error.colno} (byte {byte})"
        raise NotJsonError(f"{at}: {error.msg[:1].lower()}{error.msg[1:]}") from None
    except RecursionError:
        raise NotJsonError("nested too deeply") from None
    except ValueError:
        raise NotJsonError("a number has too many digits") from None
    if faults:
        raise FaultyInputError(faults)
    return value


def _tiles_written(written: object) -> str | list[object]:
    if isinstance(written, str | list):
        return written
    raise FaultyInputError([Fault("tiles-type", (), "tiles are written as one text or as a list of tokens")])


def read_rack(written: object) -> Rack:
    """Read a rack from JSON; FaultyInputError as of `parse_rack`, or of neither a text nor a list."""
    return parse_rack(_tiles_written(written))


# Read as the shape is, so that faults of shape and of content are told in one go.
_Written = Text | Annotated[list[Text], Field(max_length=MAX_TOKENS)]
if TYPE_CHECKING:
    RackTiles = Rack
else:  # the schema is to have no rack
    RackTiles = Annotated[Any, PlainValidator(read_rack, json_schema_input_type=_Written)]
Tiles = Annotated[
    tuple[Tile, ...],
    PlainValidator(lambda written: parse_tiles(_tiles_written(written)), json_schema_input_type=_Written),
]


class Parts:
    """A body that is being read, as parsed from JSON, and its faults so far."""

    def __init__(self, written: object) -> None:
        self._written = written
        self.faults: list[Fault] = []

    def shape(self, model: type[Shape]) -> Shape:
        """Read the body's shape, as far as it can be read.

        Each part that is wrong becomes a fault, and the rest is read as if that part were not there. A member
        that must be there is then None, until `check`.
        """
        rest, read = self._written, model
        # An object that lacks what was taken from it is wrong in turn, and is taken whole the next time.
        for _ in range(_DEEPEST):
            try:
                return read.model_validate(rest)
            except ValidationError as error:
                wrong = _wrong(error)
            places = [place for place, _ in wrong]
            if read is model:
                self.faults += [fault for _, inside in wrong for fault in inside]
            if () in places:  # no object at all
                self.check()
            rest, read = _without(rest, places), _lacking(model)
        return read.model_validate({})

    def read(self, reader: Callable[[object], Read], written: object, *place: str | int) -> Read | None:
        """Read what stands at a place; None, with its faults collected, if it cannot be read."""
        with self.collecting(*place):
            return reader(written)
        return None

    def has(self, name: str) -> bool:
        """Return whether there is a member of a name."""
        return isinstance(self._written, dict) and name in self._written

    def items(self, name: str, most: int) -> list[object]:
        """Return the first items of a list as they are written; none if no list is there."""
        found = self._written.get(name) if isinstance(self._written, dict) else None
        return found[:most] if isinstance(found, list) else []

    def add(self, kind: str, place: Place, detail: str) -> None:
        """Collect one fault."""
        self.faults.append(Fault(kind, place, detail))

    @contextmanager
    def collecting(self, *outer: str | int) -> Iterator[None]:
        """Collect the faults that are raised inside, seen from an enclosing part."""
        try:
            yield
        except FaultyInputError as error:
            self.faults += error.inside(*outer).faults

    def check(self) -> None:
        """Raise the faults collected, if there are any, as a FaultyInputError."""
        if self.faults:
            raise FaultyInputError(self.faults)


def read_shape(model: type[Shape], written: object) -> Shape:
    """Read what is of one shape; FaultyInputError with every fault of it."""
    parts = Parts(written)
    body = parts.shape(model)
    parts.check()
    return body


@cache
def _lacking(model: type[Shape]) -> type[Shape]:
    """Return the same shape, where what must be there may be lacking."""
    fields = {name: copy(field) for name, field in model.model_fields.items() if field.is_required()}
    for field in fields.values():
        field.default = None
    members: dict[str, Any] = {name: (field.annotation, field) for name, field in fields.items()}
    return create_model(model.__name__, __base__=model, **members)


def _wrong(error: ValidationError) -> list[tuple[Place, Sequence[Fault]]]:
    """Return what cannot be read, each with its faults; first what is of the wrong shape.

    Where a member is missing, that is the object inside the body that lacks it.
    """
    shapes, contents = list[tuple[Place, Sequence[Fault]]](), list[tuple[Place, Sequence[Fault]]]()
    for item, fault in zip(error.errors(), shape_faults(error, "an object"), strict=True):
        inside = item.get("ctx", {}).get("error")
        if isinstance(inside, FaultyInputError):
            contents.append((fault.place, inside.inside(*fault.place).faults))
        else:
            lacks = fault.place[:-1] if fault.kind == "missing" else ()
            shapes.append((lacks or fault.place, (fault,)))
    return shapes + contents


def _without(written: object, places: Sequence[Place]) -> object:
    """Return a copy of an object that lacks the members at some places; of a list, the whole list."""
    if not isinstance(written, dict):
        return {}
    gone = {place[0] for place in places if len(place) == 1 or isinstance(place[1], int)}
    inner: dict[str | int, list[Place]] = {}
    for place in places:
        if place[0] not in gone:
            inner.setdefault(place[0], []).append(place[1:])
    return {
        key: _without(value, inner[key]) if key in inner else value
        for key, value in written.items()
        if key not in gone
    }
