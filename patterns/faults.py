"""Faults of what a person wrote: every one is collected, each with its place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

# From so many on, nobody reads more, and what is costly to read is not read on.
MOST_FAULTS = 100


@dataclass(frozen=True)
class Fault:
    """One thing wrong with an input: a word for programs, as ``unknown-tile``, and a sentence for people.

    The place is the path to the faulty part as keys and 0-based indexes, such as ``("rack", 12)``.
    """

    kind: str
    place: tuple[str | int, ...]
    detail: str

    def inside(self, *outer: str | int) -> Fault:
        """Return the same fault seen from an enclosing part."""
        return Fault(self.kind, (*outer, *self.place), self.detail)


class FaultyInputError(ValueError):
    """An input with one or more faults; ``faults`` has all of them, in order of place."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("; ".join(fault.detail for fault in self.faults))

    def inside(self, *outer: str | int) -> FaultyInputError:
        """Return the same faults seen from an enclosing part."""
        return FaultyInputError(fault.inside(*outer) for fault in self.faults)
