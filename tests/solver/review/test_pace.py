import pytest

from solver.review import Pace, clock, mean_seconds, pace_of


def seconds(minutes: int, rest: float) -> float:
    return 60 * minutes + rest


def test_three_laps_by_hand() -> None:
    """1:52, 2:07 and 1:58 are 112 + 127 + 118 = 357 seconds, a third of which is 119: 1:59.0."""
    laps = [seconds(1, 52), seconds(2, 7), seconds(1, 58)]
    assert mean_seconds(laps) == 119.0
    assert clock(mean_seconds(laps)) == "1:59.0"


@pytest.mark.parametrize(
    ("laps", "mean", "written"),
    [
        ([90.0], 90.0, "1:30.0"),
        ([59.0, 60.0], 59.5, "0:59.5"),
        # 1:00 + 1:01 + 1:01 is 182 seconds: 60.666...
        ([60.0, 61.0, 61.0], 182 / 3, "1:00.7"),
        ([59.875, 60.0], 59.9375, "0:59.9"),
        ([59.5, 61.5, 179.0, 240.0], 135.0, "2:15.0"),
    ],
)
def test_more_means_by_hand(laps: list[float], mean: float, written: str) -> None:
    assert mean_seconds(laps) == mean
    assert clock(mean) == written


def test_the_mean_is_rounded_once_only() -> None:
    """Adding 0.1 ten times in floats gives 0.9999999999999999."""
    assert sum([0.1] * 10) != 1.0
    assert mean_seconds([0.1] * 10) == 0.1
    assert mean_seconds([1e16, 1.0, -1e16]) == pytest.approx(1 / 3)


@pytest.mark.parametrize(
    ("time", "written"),
    [
        (0.0, "0:00.0"),
        (0.04, "0:00.0"),
        (0.25, "0:00.3"),
        (9.0, "0:09.0"),
        (59.9, "0:59.9"),
        (59.94, "0:59.9"),
        (59.97, "1:00.0"),
        (60.0, "1:00.0"),
        (119.0, "1:59.0"),
        (119.97, "2:00.0"),
        (599.95, "10:00.0"),
        (3599.99, "60:00.0"),
        (86_400.0, "1440:00.0"),
    ],
)
def test_clock_carries(time: float, written: str) -> None:
    assert clock(time) == written


@pytest.mark.parametrize(
    ("time", "pace"),
    [
        (0.0, Pace.ADVANCED),
        (seconds(2, 0), Pace.ADVANCED),
        (seconds(2, 0.001), Pace.INTERMEDIATE),
        (seconds(3, 0), Pace.INTERMEDIATE),
        (seconds(3, 0.001), Pace.BEGINNER),
        (seconds(4, 0), Pace.BEGINNER),
        (seconds(4, 0.001), Pace.SLOWER),
        (86_400.0, Pace.SLOWER),
    ],
)
def test_bands_of_two_three_and_four_minutes(time: float, pace: Pace) -> None:
    """About 2 minutes advanced, 3 intermediate, 4 beginner: common practice, no source."""
    assert pace_of(time) is pace
