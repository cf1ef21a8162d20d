"""Somebody who types, and what helps to say what."""

import io
import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

Step = tuple[float, str | type[BaseException]]


class Clock:
    """A monotonic clock that moves only while somebody types."""

    def __init__(self) -> None:
        self.now = 5_000.0

    def __call__(self) -> float:
        return self.now


class Typist(io.BufferedIOBase):
    """A standard input: before each line some seconds pass; an exception stands for what a key press does."""

    def __init__(self, clock: Clock, steps: Iterable[Step]) -> None:
        self._clock = clock
        self._steps = iter(steps)

    def readable(self) -> bool:
        return True

    def read1(self, size: int = -1, /) -> bytes:
        if size == 0:
            return b""
        seconds, line = next(self._steps, (0.0, ""))
        self._clock.now += seconds
        if isinstance(line, str):
            return line.encode()
        raise line

    read = read1


def first_passes(deal: dict[str, Any], rounds: int) -> list[list[str]]:
    """For each round the first three tiles held that may go."""
    rack, passes = list(deal["rack"]), []
    for index in range(rounds):
        given = [token for token in rack if token != "J"][:3]
        for token in given:
            rack.remove(token)
        rack += deal["heap"][3 * index : 3 * index + 3]
        passes.append(given)
    return passes


def logged(path: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
