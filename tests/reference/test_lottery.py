"""Source: the standard table of the lottery 6 of 49, from 6 matches to 0. Recalled, recomputed exactly."""

from math import comb

import pytest

from tests.reference.urns import exactly

MATCHES = {6: 1, 5: 258, 4: 13545, 3: 246820, 2: 1851150, 1: 5775588, 0: 6096454}


def test_the_table_is_complete() -> None:
    assert sum(MATCHES.values()) == comb(49, 6) == 13983816


@pytest.mark.parametrize(("matches", "tickets"), MATCHES.items())
def test_matches(matches: int, tickets: int) -> None:
    assert exactly(49, matches, 6, 6) * comb(49, 6) == pytest.approx(tickets, abs=1e-5)
