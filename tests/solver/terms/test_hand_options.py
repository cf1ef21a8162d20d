import random

import numpy as np
from ortools.sat.python import cp_model

from solver.problem import problem_of
from tests.solver.enumeration import enumerate_passes, mask_of
from tests.solver.racks import question, random_rack
from tests.solver.terms.feasible import base_model


def test_a_hand_is_counted_once_and_only_at_what_the_pass_leaves() -> None:
    """The most that can be chosen under a fixed pass is what enumeration says each hand is worth."""
    rnd = random.Random(1)
    for _ in range(5):
        asked = question(random_rack(rnd))
        problem = problem_of(asked)
        options, found = problem.options, enumerate_passes(asked)
        variables = base_model(problem)
        gains = (options.reach - options.floor[options.hand]).tolist()
        for index in rnd.sample(range(len(found.passes)), 12):
            fixed = variables.model.clone()
            mask = mask_of(problem.bits, found.passes[index])
            for bit, boolean in enumerate(variables.passed):
                fixed.add(fixed.get_bool_var_from_proto_index(boolean.index) == (mask >> bit & 1))
            fixed.maximize(cp_model.LinearExpr.weighted_sum(list(variables.chosen), gains))
            solver = cp_model.CpSolver()
            solver.parameters.num_workers = 1
            assert solver.solve(fixed) == cp_model.OPTIMAL
            expected = found.reach[index] - options.floor
            assert abs(solver.objective_value - expected.sum()) < 1e-9
            chosen = [solver.boolean_value(boolean) for boolean in variables.chosen]
            assert max(np.bincount(options.hand[chosen], minlength=1)) <= 1
            assert not (options.forbidden[chosen] & np.uint32(mask)).any()
