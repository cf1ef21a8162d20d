"""The server's settings, read from the environment in one place."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, model_validator

PREFIX = "THREEPASS_"
MIB = 1024 * 1024


def _cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _words(written: object) -> object:
    return tuple(written.replace(",", " ").lower().split()) if isinstance(written, str) else written


_Origin = Annotated[str, Field(pattern=r"^(\*|https?://[a-z0-9.\-\[\]:]+)$")]
_Origins = Annotated[tuple[_Origin, ...], BeforeValidator(_words)]
_Host = Annotated[str, Field(pattern=r"^(\*|[a-z0-9.\-_]+)$")]
_Hosts = Annotated[tuple[_Host, ...], BeforeValidator(_words)]


class FaultySettingsError(ValueError):
    """One or more settings cannot be read, or are out of range; the message names them all."""


class Settings(BaseModel):
    """Settings of one server process. Each can be set as ``THREEPASS_`` and its name in capitals.

    Raises:
        ValueError: on construction, every setting outside its range.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    # Solves at the same time; by default one a core.
    threads: int = Field(default_factory=_cores, ge=1, le=256)
    # Requests that may wait for a thread, and the seconds that one may.
    queue: int = Field(32, ge=0, le=10_000)
    longest_wait: float = Field(10.0, ge=0.01, le=600)
    # Seconds that the head of a request may take to come, and its body after that.
    longest_sending: float = Field(20.0, ge=0.01, le=600)
    # Connections open at the same time, in each worker.
    connections: int = Field(1_000, ge=1, le=100_000)
    # Units of work that a request may ask for, each about a microsecond of one core.
    most_work: float = Field(1.5e7, ge=1e5, le=1e12)
    # Seconds that the work on a request may take.
    longest_solve: float = Field(20.0, ge=0.01, le=600)
    # Largest request body in bytes.
    body_limit: int = Field(MIB, ge=1, le=64 * MIB)
    # Cards of users kept ready for their next request.
    kept_cards: int = Field(12, ge=1, le=14)
    # Seconds that running requests get at shutdown.
    grace: float = Field(90.0, ge=1, le=3_600)
    # Folder of more cards, a TOML file each; by default there are none.
    cards: Path | None = None
    # Folder of the web page served at /; by default none is.
    pages: Path | None = None
    # Names by which it may be called, besides localhost and its addresses; * is any.
    hosts: _Hosts = ()
    # Origins whose pages may ask it from a browser, such as https://club.example; * is any.
    origins: _Origins = ()
    # Origins whose pages may show its page within theirs; * is any.
    embedders: _Origins = ()
    # Whether /metrics answers.
    metrics: bool = False
    # Whether the log has the messages of errors, which may quote requests.
    log_details: bool = False

    @model_validator(mode="after")
    def _together(self) -> Self:
        if self.grace <= self.longest_sending + self.longest_wait:
            raise ValueError("grace must be longer than longest_sending and longest_wait together")
        if self.pages is not None and not (self.pages / "index.html").is_file():
            raise ValueError("pages must be a folder with an index.html")
        return self

    @classmethod
    def from_environment(cls, environment: Mapping[str, str] | None = None, **unless: object) -> Settings:
        """Read the settings of the environment, or `unless` it names them these, or else the defaults.

        Raises:
            FaultySettingsError: every value of the wrong sort or out of range, or else what does not fit.
        """
        environment = os.environ if environment is None else environment
        variables = {name: PREFIX + name.upper() for name in cls.model_fields}
        named = {name: environment[each] for name, each in variables.items() if each in environment}
        try:
            return cls.model_validate({**unless, **named})
        except ValidationError as error:
            faults = [(*map(variables.get, map(str, item["loc"])), item["msg"]) for item in error.errors()]
            raise FaultySettingsError("; ".join(": ".join(map(str, each)) for each in faults)) from None
