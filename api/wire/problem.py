"""The body of every answer that is not a success (RFC 9457)."""

from __future__ import annotations

from pydantic import Field

from api.wire.base import Answer


class ProblemItem(Answer):
    """One fault of the request."""

    pointer: str = Field(description="JSON pointer to the faulty part, as a URI fragment: `#/rack/12`")
    detail: str = Field(description="One sentence for people")
    type: str = Field(description="A stable word for programs")


class Problem(Answer):
    """Problem details."""

    type: str = Field(description="`urn:threepass:problem:` and a stable word, or `about:blank`")
    title: str = Field(description="The sort of problem in words")
    status: int = Field(description="The HTTP status", ge=400, le=599)
    detail: str = Field(description="What went wrong this time")
    request_id: str = Field(description="As in the header `x-request-id`")
    errors: list[ProblemItem] = Field(description="The faults, if the request has any that can be pointed at")
