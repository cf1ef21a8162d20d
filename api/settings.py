"""The server's settings, read from the environment in one place."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

PREFIX = "THREEPASS_"
MIB = 1024 * 1024
# By the type of a setting as it is written below: how a value is read, and what it must be.
_READERS: Mapping[str, tuple[Callable[[str], object], str]] = {
    "int": (int, "a whole number"),
    "float": (float, "a number"),
    "bool": ({"0": False, "1": True}.__getitem__, "0 or 1"),
    "Path | None": (Path, "a path"),
}


def _cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class FaultySettingsError(ValueError):
    """One or more settings cannot be read, or are out of range; the message names them all."""


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
    longest_sending: float = field(
        default=20.0,
        metadata={
            "range": (0.01, 600.0),
            "says": "seconds that the head of a request may take to come, and its body after that",
        },
    )
    body_limit: int = field(
        default=MIB, metadata={"range": (1, 64 * MIB), "says": "largest request body in bytes"}
    )
    kept_cards: int = field(
        default=12, metadata={"range": (1, 14), "says": "cards of users kept ready for their next request"}
    )
    grace: float = field(
        default=90.0,
        metadata={"range": (1.0, 3600.0), "says": "seconds that running requests get at shutdown"},
    )
    cards: Path | None = field(
        default=None, metadata={"says": "folder of more cards, a TOML file each; by default there are none"}
    )
    pages: Path | None = field(
        default=None, metadata={"says": "folder of the web page served at /; by default none is"}
    )
    metrics: bool = field(default=False, metadata={"says": "whether /metrics answers; 0 or 1"})
    log_details: bool = field(
        default=False,
        metadata={"says": "whether the log has the messages of errors, which may quote requests; 0 or 1"},
    )

    def __post_init__(self) -> None:
        faults = []
        for setting in fields(self):
            if "range" not in setting.metadata:
                continue
            least, most = setting.metadata["range"]
            if not least <= getattr(self, setting.name) <= most:
                faults.append(f"{setting.name} must be {least:g} to {most:g}")
        if self.grace <= self.longest_sending + self.longest_wait:
            faults.append("grace must be longer than longest_sending and longest_wait together")
        if self.pages is not None and not (self.pages / "index.html").is_file():
            faults.append("pages must be a folder with an index.html")
        if faults:
            raise FaultySettingsError("; ".join(faults))

    @classmethod
    def from_environment(cls, environment: Mapping[str, str] | None = None) -> Settings:
        """Read the settings; those not named in the environment keep their defaults.

        Args:
            environment: Variables to read instead of the process's own.

        Raises:
            FaultySettingsError: every value of the wrong sort, or else every value out of range.
        """
        environment = os.environ if environment is None else environment
        values: dict[str, Any] = {}
        faults = []
        for setting in fields(cls):
            variable = PREFIX + setting.name.upper()
            if variable not in environment:
                continue
            read, sort = _READERS[str(setting.type)]
            try:
                values[setting.name] = read(environment[variable])
            except (ValueError, KeyError):
                faults.append(f"{variable} must be {sort}")
        if faults:
            raise FaultySettingsError("; ".join(faults))
        return cls(**values)
