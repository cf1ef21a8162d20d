"""Times: how they are written, averaged, and compared with the pace bands."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from fractions import Fraction


class Pace(Enum):
    """Pace of one whole Charleston, from seeing the rack to the last pass (common practice, no source)."""

    ADVANCED = "advanced"
    INTERMEDIATE = "intermediate"
    BEGINNER = "beginner"
    SLOWER = "slower than beginner"


_MOST_SECONDS = ((120.0, Pace.ADVANCED), (180.0, Pace.INTERMEDIATE), (240.0, Pace.BEGINNER))


def pace_of(seconds: float) -> Pace:
    """Return the band: up to 2 minutes advanced, 3 intermediate, 4 beginner."""
    return next((pace for most, pace in _MOST_SECONDS if seconds <= most), Pace.SLOWER)


def mean_seconds(times: Sequence[float]) -> float:
    """Return the mean of one or more times in seconds, exactly, then rounded once."""
    return float(sum(map(Fraction, times)) / len(times))


def clock(seconds: float) -> str:
    """Write seconds as minutes and seconds to a tenth, half up: 119 is ``1:59.0``, 59.97 is ``1:00.0``."""
    tenths = int(Fraction(seconds) * 10 + Fraction(1, 2))
    return f"{tenths // 600}:{tenths % 600 // 10:02d}.{tenths % 10}"
