from math import comb

import numpy as np
import pytest

from solver.reach.counting import binomial


def test_every_entry_of_the_table_is_the_nearest_float() -> None:
    n = np.arange(153)[:, None]
    k = np.arange(153)[None, :]
    expected = [[float(comb(a, b)) for b in range(153)] for a in range(153)]
    assert np.array_equal(binomial(n, k), expected)


@pytest.mark.parametrize(
    ("n", "k", "value"),
    [
        (0, 0, 1),
        (0, 1, 0),
        (5, 6, 0),
        (5, -1, 0),
        (-1, 0, 0),
        (-1, -1, 0),
        (-3, 2, 0),
        (152, 152, 1),
        (152, 1, 152),
    ],
)
def test_edges(n: int, k: int, value: int) -> None:
    assert binomial(n, k) == value


def test_broadcasts() -> None:
    assert binomial(np.arange(4)[:, None], np.arange(3)).tolist() == [
        [1, 0, 0],
        [1, 1, 0],
        [1, 2, 1],
        [1, 3, 3],
    ]
