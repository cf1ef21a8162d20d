"""A sheet as tasks, one rack or one deal each, so that many workers can share them."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from clients.cli.lines import encoded
from clients.cli.problems import not_threepass
from clients.cli.sheets.racks import OwnRack


@dataclass(frozen=True)
class Batch:
    """What is to be answered.

    Attributes:
        base: The request without racks, count, start and budget.
        racks: Racks of one's own, or None for deals.
        count: Deals wanted.
        start: First index to try.
        most: How many tasks there are at most: as many as racks, or deals to try.
    """

    base: Mapping[str, Any]
    racks: Sequence[OwnRack] | None
    count: int
    start: int
    most: int

    @property
    def digest(self) -> str:
        """Names the request: the same for the same questions, whoever answers them."""
        asked = {
            "base": self.base,
            "racks": None if self.racks is None else [rack.entry for rack in self.racks],
            "count": self.count,
            "start": self.start,
            "most": self.most,
        }
        return hashlib.sha256(json.dumps(asked, sort_keys=True).encode()).hexdigest()

    def body(self, task: int) -> bytes:
        """Return the request of one task."""
        if self.racks is not None:
            return encoded({**self.base, "racks": [self.racks[task].entry]})
        return encoded({**self.base, "start": self.start + task, "count": 1, "budget": 1})

    def enough(self, found: Mapping[int, Mapping[str, Any]]) -> bool:
        """Return whether the answers found so far are all that is needed.

        Raises:
            KeyError, TypeError: an answer does not have the API's shape.
        """
        return len(self._used(found)[0]) >= self.count or len(found) >= self.most

    def merged(self, found: Mapping[int, Mapping[str, Any]]) -> dict[str, Any]:
        """Return one sheet of many, numbered from 1 in the order of the tasks.

        Raises:
            UnreachableError: the answers are not those of one and the same service.
            KeyError, TypeError: an answer does not have the API's shape.
        """
        sheets, tried = self._used(found)
        first = found[0]
        if any(sheet["versions"] != first["versions"] for sheet in sheets):
            raise not_threepass("the answers are of two versions of threepass: begin in another folder")
        return {
            **first,
            "problems": _numbered([each for sheet in sheets for each in sheet["problems"]]),
            "key": _numbered([each for sheet in sheets for each in sheet["key"]]),
            "complete": len(sheets) >= self.count,
            "tried": tried,
        }

    def _used(self, found: Mapping[int, Mapping[str, Any]]) -> tuple[list[Mapping[str, Any]], int]:
        """Return the sheets with a problem, without a gap from the first task on, and the tasks they took."""
        used: list[Mapping[str, Any]] = []
        task = 0
        while task in found and len(used) < self.count:
            if found[task]["problems"]:
                used.append(found[task])
            task += 1
        return used, task


def _numbered(parts: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{**part, "number": number} for number, part in enumerate(parts, 1)]
