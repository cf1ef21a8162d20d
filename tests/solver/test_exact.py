import random
from math import comb

import pytest

from patterns.rack import Rack
from patterns.tiles import KINDS, Tile
from solver.exact import all_passes, exact_scores
from solver.limits import Limits
from solver.rounds import Round
from tests.solver.enumeration import enumerate_passes
from tests.solver.racks import question, random_rack


@pytest.mark.parametrize("give", [0, 1, 2, 3])
def test_every_distinct_pass_comes_once(give: int) -> None:
    rnd = random.Random(give)
    for _ in range(20):
        asked = question(random_rack(rnd), round=Round.COURTESY, give=give)
        passes = list(all_passes(asked))
        assert len(passes) == len(set(passes))
        assert set(passes) == set(enumerate_passes(asked).passes)


def test_fourteen_different_tiles_have_364_passes() -> None:
    assert len(list(all_passes(question(Rack(KINDS[:14]))))) == comb(14, 3) == 364


def test_jokers_never_go_and_like_tiles_are_one_pass() -> None:
    assert list(all_passes(question("FFFFFF JJJJJJJJ"))) == [(Tile.FLOWER,) * 3]


def test_scores_come_best_first_and_keep_the_limits() -> None:
    asked = question(random_rack(random.Random(1)), limits=Limits(no_pairs=True, no_neighbours=True))
    scores = exact_scores(asked)
    values = [score.expected for score in scores]
    assert values == sorted(values, reverse=True)
    assert {score.passed for score in scores} == set(enumerate_passes(asked).worth(asked.limits))
    assert all(len(set(score.passed)) == 3 for score in scores)
    assert len(scores) < len(list(all_passes(asked)))
