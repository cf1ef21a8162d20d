"""Source: SciPy manual, ``scipy.stats.multivariate_hypergeom``, the examples. Read.

Two kinds fill the urn there, so that exactly r of the first is all that one needs to say.
"""

import pytest

from tests.reference.urns import exactly


def test_eight_of_ten_and_four_of_twenty() -> None:
    assert exactly(30, 8, 10, 12) == pytest.approx(0.0025207176631464523, abs=1e-14)


def test_three_of_ten_and_one_of_five() -> None:
    assert exactly(15, 3, 10, 4) == pytest.approx(0.4395604395604395, abs=1e-14)
