from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clients.cli.times import clock, mean


@pytest.mark.parametrize(
    ("seconds", "written"),
    [
        (0, "0:00.0"),
        (0.04, "0:00.0"),
        (0.0625, "0:00.1"),
        (0.25, "0:00.3"),  # a half goes up
        (9.95, "0:09.9"),  # in binary it is a little less than a half
        (59.94, "0:59.9"),
        (59.97, "1:00.0"),
        (119, "1:59.0"),
        (119.96, "2:00.0"),
        (600, "10:00.0"),
        (3599.99, "60:00.0"),
    ],
)
def test_seconds_are_written_as_minutes_and_seconds(seconds: float, written: str) -> None:
    assert clock(seconds) == written


def test_three_laps_by_hand() -> None:
    # 1:52, 2:07 and 1:58 are 112, 127 and 118 seconds, 357 in all, and a third of that is 119 or 1:59.
    assert mean([112, 127, 118]) == 119.0
    assert clock(mean([112, 127, 118])) == "1:59.0"


def test_means_are_exact() -> None:
    # 10 times 0.1 adds up to less than 1 when each sum is rounded.
    assert mean([0.1] * 10) == 0.1
    assert mean([1e16, 1.0, -1e16]) == pytest.approx(1 / 3, abs=1e-16)


@given(st.lists(st.floats(0, 86_400), min_size=1, max_size=20))
def test_a_mean_lies_between_and_is_the_nearest_number(times: list[float]) -> None:
    assert min(times) <= mean(times) <= max(times)
    exact = sum(map(Fraction, times)) / len(times)
    assert mean(times) == exact.numerator / exact.denominator


@given(st.floats(0, 86_400))
def test_what_is_written_is_within_half_a_tenth(seconds: float) -> None:
    minutes, rest = clock(seconds).split(":")
    assert 0 <= float(rest) < 60
    written = Fraction(minutes) * 60 + Fraction(rest)
    assert Fraction(-1, 20) < written - Fraction(seconds) <= Fraction(1, 20)
