import pytest

from solver.arrivals import DEFAULT_CLAIMS, DEFAULT_DRAWS, Arrivals, default_arrivals
from solver.rounds import RULES, Round

# Tiles of one's own Charleston still to come after a pass of three, this exchange included.
TO_COME = {
    Round.FIRST_RIGHT: 9,
    Round.FIRST_ACROSS: 6,
    Round.FIRST_LEFT: 3,
    Round.SECOND_LEFT: 9,
    Round.SECOND_ACROSS: 6,
    Round.SECOND_RIGHT: 3,
    Round.COURTESY: 3,
}


@pytest.mark.parametrize("round_", Round)
def test_a_pass_of_three_brings_three_an_exchange(round_: Round) -> None:
    assert default_arrivals(round_, 3) == Arrivals(TO_COME[round_], DEFAULT_DRAWS, DEFAULT_CLAIMS)


@pytest.mark.parametrize("round_", [round_ for round_ in Round if RULES[round_].fewest == 0])
def test_as_many_come_as_go(round_: Round) -> None:
    for give in range(4):
        assert default_arrivals(round_, give).charleston == give
