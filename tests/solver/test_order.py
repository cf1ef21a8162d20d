import numpy as np

from solver.order import greatest_first


def test_the_greatest_is_first() -> None:
    assert greatest_first(np.array([0.1, 0.3, 0.2])).tolist() == [1, 2, 0]


def test_values_that_differ_by_the_last_digit_stay_as_they_come() -> None:
    more = np.nextafter(0.2, 1)
    assert greatest_first(np.array([0.2, more, 0.2, 0.5, more])).tolist() == [3, 0, 1, 2, 4]
    assert greatest_first(np.array([0.2, 0.2 + 1e-11])).tolist() == [1, 0]
