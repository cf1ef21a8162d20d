"""Source: SAS manual, function PROBHYPR, example PROBHYPR(120, 22, 20, 1). Recalled, recomputed exactly."""

import pytest

from tests.reference.urns import at_least


def test_at_most_one_of_22_among_20_of_120() -> None:
    assert 1 - at_least(120, [(2, 22)], 20) == pytest.approx(0.0762970752, abs=5e-11)
