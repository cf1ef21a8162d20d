"""Which passes a model of the terms leaves, found by trying each."""

from collections import Counter
from collections.abc import Callable

from ortools.sat.python import cp_model

from patterns.tiles import Tile
from solver.card_tables import tables_of
from solver.exact import all_passes
from solver.pass_model import PassProblem
from solver.question import Question
from solver.rescore import score
from solver.terms.hand_options import add_hand_options
from solver.terms.limit import Limit, Outcome
from solver.terms.pass_size import add_pass_size
from solver.terms.variables import Variables
from tests.solver.enumeration import mask_of

Pass = tuple[Tile, ...]


def base_model(problem: PassProblem) -> Variables:
    """Return the model without limits."""
    variables = Variables.new(problem.bits, problem.options, problem.families)
    add_pass_size(variables, problem.give)
    add_hand_options(variables)
    return variables


def is_possible(variables: Variables, mask: int) -> bool:
    """Return whether the model has a solution with just these bits."""
    fixed = variables.model.clone()
    for bit, boolean in enumerate(variables.passed):
        fixed.add(fixed.get_bool_var_from_proto_index(boolean.index) == (mask >> bit & 1))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(fixed)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.INFEASIBLE)
    return status != cp_model.INFEASIBLE


def left_by(problem: PassProblem, passes: list[Pass], add: Callable[[Variables], None]) -> set[Pass]:
    """Return the passes that the model leaves once something was added to it."""
    variables = base_model(problem)
    add(variables)
    return {passed for passed in passes if is_possible(variables, mask_of(problem.bits, passed))}


def outcomes(question: Question, problem: PassProblem) -> dict[Pass, Outcome]:
    """Return what each pass leaves, by the re-scorer."""
    tables, held = tables_of(question.card), Counter(question.rack.tiles)
    return {
        passed: Outcome(
            Counter(passed),
            held,
            score(question.situation, tables, problem.weights, passed).reach,
            problem.families,
        )
        for passed in all_passes(question)
    }


def check_limit(question: Question, problem: PassProblem, limit: Limit) -> set[Pass]:
    """Check that the model with a limit leaves just the passes that hold it, and some are lost.

    Returns:
        The passes left.
    """
    every = outcomes(question, problem)
    left = left_by(problem, list(every), limit.add)
    assert left == {passed for passed, outcome in every.items() if limit.holds(outcome)}
    assert left != set(every)
    return left
