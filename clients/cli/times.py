"""Times: how they are written and averaged."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction


def clock(seconds: float) -> str:
    """Write seconds as minutes and seconds to a tenth, half up: 119 is ``1:59.0``, 59.97 is ``1:00.0``."""
    tenths = int(Fraction(seconds) * 10 + Fraction(1, 2))
    return f"{tenths // 600}:{tenths % 600 // 10:02d}.{tenths % 10}"


def mean(numbers: Sequence[float]) -> float:
    """Return the mean of one or more numbers, exactly, then rounded once."""
    return float(sum(map(Fraction, numbers)) / len(numbers))
