from solver.problem import problem_of
from solver.terms.no_pairs import NoPairs
from tests.solver.racks import question
from tests.solver.terms.feasible import check_limit


def test_never_two_alike() -> None:
    asked = question("111b 22c 3d NN FF JJJJ")
    left = check_limit(asked, problem_of(asked), NoPairs())
    assert left == {passed for passed in left if len(set(passed)) == 3}


def test_a_rack_of_one_kind_leaves_no_pass() -> None:
    asked = question("FFFFFF JJJJJJJJ")
    assert not check_limit(asked, problem_of(asked), NoPairs())
