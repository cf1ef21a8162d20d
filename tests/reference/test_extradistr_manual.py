"""Source: manual of the R package extraDistr, ``dmvhyper``. Recalled, then recomputed exactly.

Six drawn from 5, 6 and 7 of three kinds: three of the first and three of the second leave none of the third.
"""

import pytest

from tests.reference.urns import at_least


def test_three_three_none() -> None:
    assert at_least(18, [(3, 5), (3, 6)], 6) == pytest.approx(0.01077354, abs=5e-9)
