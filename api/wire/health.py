"""Whether the server lives and works."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from api.wire.base import Answer


class Alive(Answer):
    """The process answers."""

    status: Literal["alive"] = "alive"


class Ready(Answer):
    """A real small solve went well."""

    status: Literal["ready"] = "ready"
    solve_ms: int = Field(description="Milliseconds that the solve took", ge=0)
