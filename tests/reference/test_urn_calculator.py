"""Source: urn-calculator 0.0.1 (PyPI, MIT), its exact fractions for unions of demands. Read.

Its ``evaluate`` was run once on these random pools, which stand for a set with some tiles gone; "other" is
every tile not named. The package itself is not needed here. It knows neither jokers nor claims.
"""

from fractions import Fraction

import pytest

from tests.reference.urns import at_least_one

# Copies unseen | tiles of other kinds | tiles drawn | the chance; and demands, of which one must be met.
UNIONS = """
4b2 5b3 6b1 5c3 N2 red1 F7 | 86 | 22 | 1474/68289
  5b2 6b1, 5b3 F6 6b1
4b4 5b1 6b4 5c4 N1 red2 F4 | 62 | 12 | 45204796358/1593240179985
  4b3 5b1, red1 6b1 5b1, F2 5b1
4b3 5b3 6b2 5c3 N4 red2 F5 | 95 | 37 | 54509641612448617/170120299090238757
  5b3 5c1, F4 N3, 4b1 N2, 5b1 F3 4b1
4b3 5b4 6b4 5c1 N2 red1 F8 | 95 | 28 | 2137220231525/37663031864107
  4b3 N1, 6b1 F5, F4 4b1
4b1 5b2 6b1 5c2 N3 red2 F7 | 77 | 26 | 3915751687/64519190169
  4b1 5b1 red1, 5b1 N3 5c1
4b4 5b1 6b2 5c2 N3 red4 F2 | 78 | 12 | 19089759597/312334327265740
  N3 6b1 5b1, 4b3 5c2 6b2, 4b4 N1
4b1 5b3 6b1 5c2 N3 red3 F2 | 60 | 13 | 37144321279/3165009678810
  red3 5b2, N2 6b1
4b2 5b4 6b4 5c4 N3 red1 F8 | 65 | 16 | 26753455046677/235287168629513
  5b4 F6 6b4, N2 4b1, red1 6b1, 5b3 N3 F1
4b3 5b3 6b2 5c1 N2 red4 F8 | 75 | 18 | 423392571625705195/2939014152286402302
  red3 N1 6b2, 6b2 red2 5b2, 6b1 F2, red2 4b2 N2
4b3 5b4 6b2 5c2 N2 red3 F1 | 96 | 16 | 1259672089/33792761079
  6b1 F1, 5b3 6b1
4b3 5b1 6b4 5c1 N1 red4 F8 | 85 | 17 | 776896573279/49471488502345
  F5 red4, 5c1 F3
4b2 5b2 6b3 5c1 N2 red4 F7 | 89 | 15 | 196061770193/216450630572220
  red2 N1 4b2, N2 6b2
"""


def numbers_in(text: str) -> dict[object, int]:
    """Return how many of each kind a cell of the table names."""
    return {each[:-1]: int(each[-1]) for each in text.split()}


LINES = UNIONS.strip().splitlines()


@pytest.mark.parametrize(("row", "demands"), list(zip(LINES[::2], LINES[1::2], strict=True)))
def test_union(row: str, demands: str) -> None:
    unseen, others, drawn, chance = row.split(" | ")
    copies = numbers_in(unseen)
    pool = sum(copies.values()) + int(others)
    ours = at_least_one(pool, [numbers_in(each) for each in demands.split(", ")], copies, int(drawn))
    assert ours == pytest.approx(float(Fraction(chance)), rel=1e-10)
