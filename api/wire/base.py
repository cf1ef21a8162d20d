"""What all shapes share."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from patterns.card_file import MAX_NAME

DECIMALS = 12


class Request(BaseModel):
    """Something a client sends: unknown members and silent conversions are refused."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class Answer(BaseModel):
    """Something a client gets; members are written in the order they are declared."""

    model_config = ConfigDict(frozen=True)


def rounded(number: float) -> float:
    """Return a number as it is written in an answer."""
    return round(number, DECIMALS) + 0.0  # adding zero turns -0.0 into 0.0


# Rounded so that an answer is the same bytes on every machine.
Number = Annotated[float, AfterValidator(rounded)]
Seed = Annotated[int, Field(ge=0, le=2**63 - 1)]
Name = Annotated[str, Field(min_length=1, max_length=MAX_NAME)]
