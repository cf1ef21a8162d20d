"""Source: urn-calculator 0.0.1 (PyPI, MIT), its exact fractions for unions of demands. Read.

Its ``evaluate`` was run once on these random pools, which stand for a set with some tiles gone; "other" is
every tile not named. The package itself is not needed here. It knows neither jokers nor claims.
"""

import pytest

from tests.reference.urns import at_least_one

# Copies unseen, tiles of other kinds, demands of which one must be met, tiles drawn, the chance.
UNIONS = [
    (
        {"4b": 2, "5b": 3, "6b": 1, "5c": 3, "N": 2, "red": 1, "F": 7},
        86,
        [{"5b": 2, "6b": 1}, {"5b": 3, "F": 6, "6b": 1}],
        22,
        (1474, 68289),
    ),
    (
        {"4b": 4, "5b": 1, "6b": 4, "5c": 4, "N": 1, "red": 2, "F": 4},
        62,
        [{"4b": 3, "5b": 1}, {"red": 1, "6b": 1, "5b": 1}, {"F": 2, "5b": 1}],
        12,
        (45204796358, 1593240179985),
    ),
    (
        {"4b": 3, "5b": 3, "6b": 2, "5c": 3, "N": 4, "red": 2, "F": 5},
        95,
        [{"5b": 3, "5c": 1}, {"F": 4, "N": 3}, {"4b": 1, "N": 2}, {"5b": 1, "F": 3, "4b": 1}],
        37,
        (54509641612448617, 170120299090238757),
    ),
    (
        {"4b": 3, "5b": 4, "6b": 4, "5c": 1, "N": 2, "red": 1, "F": 8},
        95,
        [{"4b": 3, "N": 1}, {"6b": 1, "F": 5}, {"F": 4, "4b": 1}],
        28,
        (2137220231525, 37663031864107),
    ),
    (
        {"4b": 1, "5b": 2, "6b": 1, "5c": 2, "N": 3, "red": 2, "F": 7},
        77,
        [{"4b": 1, "5b": 1, "red": 1}, {"5b": 1, "N": 3, "5c": 1}],
        26,
        (3915751687, 64519190169),
    ),
    (
        {"4b": 4, "5b": 1, "6b": 2, "5c": 2, "N": 3, "red": 4, "F": 2},
        78,
        [{"N": 3, "6b": 1, "5b": 1}, {"4b": 3, "5c": 2, "6b": 2}, {"4b": 4, "N": 1}],
        12,
        (19089759597, 312334327265740),
    ),
    (
        {"4b": 1, "5b": 3, "6b": 1, "5c": 2, "N": 3, "red": 3, "F": 2},
        60,
        [{"red": 3, "5b": 2}, {"N": 2, "6b": 1}],
        13,
        (37144321279, 3165009678810),
    ),
    (
        {"4b": 2, "5b": 4, "6b": 4, "5c": 4, "N": 3, "red": 1, "F": 8},
        65,
        [{"5b": 4, "F": 6, "6b": 4}, {"N": 2, "4b": 1}, {"red": 1, "6b": 1}, {"5b": 3, "N": 3, "F": 1}],
        16,
        (26753455046677, 235287168629513),
    ),
    (
        {"4b": 3, "5b": 3, "6b": 2, "5c": 1, "N": 2, "red": 4, "F": 8},
        75,
        [
            {"red": 3, "N": 1, "6b": 2},
            {"6b": 2, "red": 2, "5b": 2},
            {"6b": 1, "F": 2},
            {"red": 2, "4b": 2, "N": 2},
        ],
        18,
        (423392571625705195, 2939014152286402302),
    ),
    (
        {"4b": 3, "5b": 4, "6b": 2, "5c": 2, "N": 2, "red": 3, "F": 1},
        96,
        [{"6b": 1, "F": 1}, {"5b": 3, "6b": 1}],
        16,
        (1259672089, 33792761079),
    ),
    (
        {"4b": 3, "5b": 1, "6b": 4, "5c": 1, "N": 1, "red": 4, "F": 8},
        85,
        [{"F": 5, "red": 4}, {"5c": 1, "F": 3}],
        17,
        (776896573279, 49471488502345),
    ),
    (
        {"4b": 2, "5b": 2, "6b": 3, "5c": 1, "N": 2, "red": 4, "F": 7},
        89,
        [{"red": 2, "N": 1, "4b": 2}, {"N": 2, "6b": 2}],
        15,
        (196061770193, 216450630572220),
    ),
]


@pytest.mark.parametrize(("copies", "others", "demands", "drawn", "chance"), UNIONS)
def test_union(
    copies: dict[object, int],
    others: int,
    demands: list[dict[object, int]],
    drawn: int,
    chance: tuple[int, int],
) -> None:
    pool = sum(copies.values()) + others
    ours = at_least_one(pool, demands, copies, drawn)
    assert ours == pytest.approx(chance[0] / chance[1], rel=1e-10)
