import random

import pytest

from solver.limits import Limits
from solver.rounds import Round
from tests.solver.enumeration import Enumeration, check_answer, random_limits
from tests.solver.racks import card, question, random_rack

LONG = [pytest.param("small", range(1000), id="small"), pytest.param("full", range(1000, 1200), id="full")]
SHORT = [pytest.param("small", range(20), id="small"), pytest.param("full", range(1000, 1005), id="full")]
GIVES = [(Round.FIRST_RIGHT, None)] * 3 + [(Round.COURTESY, give) for give in (1, 2, 3)]


def compare_with_enumeration(name: str, seeds: range) -> tuple[int, int]:
    """Compare every rack with and without limits; return how many pairs answered and how many clashed."""
    answered = clashed = 0
    for seed in seeds:
        rnd = random.Random(seed)
        round_, give = rnd.choice(GIVES)
        rack = random_rack(rnd, rnd.choice((13, 14, 14)))
        found = Enumeration.of(question(rack, name, round=round_, give=give))
        assert check_answer(found, Limits()) is not None
        if check_answer(found, random_limits(rnd, card(name), rack)) is None:
            clashed += 1
        else:
            answered += 1
    return answered, clashed


@pytest.mark.parametrize(("name", "seeds"), SHORT)
def test_equals_the_enumeration_of_all_passes(name: str, seeds: range) -> None:
    answered, _ = compare_with_enumeration(name, seeds)
    assert answered > len(seeds) / 2
