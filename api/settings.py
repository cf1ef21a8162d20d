"""The server's settings, read from the environment in one place."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field, fields

from solver.question import MAX_EFFORT

PREFIX = "THREEPASS_"
MIB = 1024 * 1024


def _cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class FaultySettingsError(ValueError):
    """One or more settings are not numbers, or out of range; the message names them all."""


@dataclass(frozen=True)
class Settings:
    """Settings of one server process. Each can be set as ``THREEPASS_`` and its name in capitals.

    Raises:
        FaultySettingsError: on construction, every setting outside its range.
    """

    threads: int = field(
        default_factory=_cores,
        metadata={"range": (1, 256), "says": "solves at the same time; by default one a core"},
    )
    queue: int = field(
        default=32, metadata={"range": (0, 10_000), "says": "requests that may wait for a thread"}
    )
    longest_wait: float = field(
        default=10.0, metadata={"range": (0.01, 600.0), "says": "seconds a request may wait for a thread"}
    )
    body_limit: int = field(
        default=MIB, metadata={"range": (1, 64 * MIB), "says": "largest request body in bytes"}
    )
    max_effort: float = field(
        default=MAX_EFFORT,
        metadata={"range": (0.001, MAX_EFFORT), "says": "largest effort a request may ask for"},
    )
    kept_cards: int = field(
        default=12, metadata={"range": (1, 14), "says": "cards of users kept ready for their next request"}
    )
    grace: float = field(
        default=90.0,
        metadata={"range": (1.0, 3600.0), "says": "seconds that running requests get at shutdown"},
    )

    def __post_init__(self) -> None:
        faults = []
        for setting in fields(self):
            least, most = setting.metadata["range"]
            if not least <= getattr(self, setting.name) <= most:
                faults.append(f"{setting.name} must be {least:g} to {most:g}")
        if self.grace <= self.longest_wait:
            faults.append("grace must be longer than longest_wait")
        if faults:
            raise FaultySettingsError("; ".join(faults))

    @classmethod
    def from_environment(cls, environment: Mapping[str, str] | None = None) -> Settings:
        """Read the settings; those not named in the environment keep their defaults.

        Args:
            environment: Variables to read instead of the process's own.

        Raises:
            FaultySettingsError: every value that is not a number, or else every one out of range.
        """
        environment = os.environ if environment is None else environment
        integers = {"threads", "queue", "body_limit", "kept_cards"}
        read: dict[str, int | float] = {}
        faults = []
        for setting in fields(cls):
            variable = PREFIX + setting.name.upper()
            if variable not in environment:
                continue
            try:
                number = int if setting.name in integers else float
                read[setting.name] = number(environment[variable])
            except ValueError:
                sort = "a whole number" if setting.name in integers else "a number"
                faults.append(f"{variable} must be {sort}")
        if faults:
            raise FaultySettingsError("; ".join(faults))
        return cls(**read)  # type: ignore[arg-type]
