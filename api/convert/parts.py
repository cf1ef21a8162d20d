"""Reading a request part by part, so that the faults of all parts are named together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from pydantic import ValidationError

from api.wire.base import Request
from patterns.card_file import faults_of
from patterns.faults import Fault, FaultyInputError
from patterns.rack import Rack, parse_rack, parse_tiles
from patterns.tiles import Tile

_NOTHING = object()
Shape = TypeVar("Shape", bound=Request)
Read = TypeVar("Read")


class Parts:
    """A body that is being read, and its faults so far.

    Args:
        written: The body as parsed from JSON.
    """

    def __init__(self, written: object) -> None:
        self._written = written
        self.faults: list[Fault] = []

    def shape(self, model: type[Shape]) -> Shape | None:
        """Read the body's shape; None, and faults, if it is wrong anywhere."""
        try:
            return model.model_validate(self._written)
        except ValidationError as error:
            self.faults += faults_of(error)
            return None

    def part(
        self, place: Sequence[str | int], read: Callable[[object], Read], absent: object = _NOTHING
    ) -> Read | None:
        """Read the part at a place.

        Args:
            place: Where it stands.
            read: Reads what stands there.
            absent: Read instead if nothing stands there.

        Returns:
            None if there is nothing to read, or, with faults collected, if it cannot be read.
        """
        found = self._found(place)
        value = absent if found is _NOTHING else found
        if value is _NOTHING:
            return None
        with self.collecting(*place):
            return read(value)
        return None

    def length(self, *place: str | int) -> int:
        """Return how many items the list at a place has; 0 if no list is there."""
        found = self._found(place)
        return len(found) if isinstance(found, list) else 0

    def _found(self, place: Sequence[str | int]) -> object:
        value = self._written
        for step in place:
            value = _at(value, step)
        return value

    def collecting(self, *outer: str | int) -> _Collecting:
        """Return a context in which faults that are raised are collected, seen from an enclosing part."""
        return _Collecting(self, outer)

    def check(self) -> None:
        """Raise the faults collected.

        Raises:
            FaultyInputError: there are some.
        """
        if self.faults:
            raise FaultyInputError(self.faults)


class _Collecting:
    def __init__(self, parts: Parts, outer: tuple[str | int, ...]) -> None:
        self._parts = parts
        self._outer = outer

    def __enter__(self) -> None:
        pass

    def __exit__(self, kind: object, error: BaseException | None, traceback: object) -> bool:
        if not isinstance(error, FaultyInputError):
            return False
        self._parts.faults += error.inside(*self._outer).faults
        return True


def _at(value: object, step: str | int) -> object:
    if isinstance(value, list) and isinstance(step, int) and step < len(value):
        return value[step]
    return value.get(step, _NOTHING) if isinstance(value, dict) else _NOTHING


def allowed_effort(parts: Parts, effort: float, most: float, *, named: bool) -> float:
    """Return the effort within what the server allows; a fault if a client named more."""
    if effort > most and named:
        parts.faults.append(Fault("range", ("effort",), f"this server allows at most {most:g}"))
    return min(effort, most)


def _tiles_written(written: object) -> str | list[object]:
    if isinstance(written, str | list):
        return written
    raise FaultyInputError([Fault("tiles-type", (), "tiles are written as one text or as a list of tokens")])


def read_rack(written: object) -> Rack:
    """Read a rack from JSON.

    Raises:
        FaultyInputError: as `parse_rack`, or neither a text nor a list.
    """
    return parse_rack(_tiles_written(written))


def read_tiles(written: object) -> tuple[Tile, ...]:
    """Read tiles from JSON.

    Raises:
        FaultyInputError: as `parse_tiles`, or neither a text nor a list.
    """
    return parse_tiles(_tiles_written(written))
