"""A plan over several rounds: what goes now, and what goes next if nothing better comes.

One CP-SAT model with nested kept sets: after each round the tiles given so far are gone, and what is
then within reach counts with the arrivals still to come: those that each round has by default, or what is
left of those of a drill or of those stated. The plan maximises the sum over the rounds. It
takes the incoming tiles to be of no use, so it is an order in which to let one's own tiles go.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

import numpy as np
from ortools.sat.python import cp_model

from patterns.faults import Fault, FaultyInputError
from patterns.tiles import Tile
from solver.advice import ClashError, MismatchError
from solver.card_tables import tables_of
from solver.limits import hand_weights
from solver.options import options_of
from solver.pass_model import NoAnswerError, Status, clash_of, new_solver
from solver.problem import problem_of
from solver.question import Question
from solver.rack_bits import RackBits
from solver.rescore import score
from solver.rounds import ORDER, PASS_SIZE
from solver.situation import Situation
from solver.stopping import Stopper
from solver.terms.all_limits import limit_terms
from solver.terms.hand_options import add_hand_options
from solver.terms.nested import add_nested
from solver.terms.objective import ORDER_SPAN, ORDER_WEIGHTS, Scale
from solver.terms.pass_size import add_pass_size
from solver.terms.variables import Variables

MAX_ROUNDS = 3
# Options worth less than this above a hand's floor are left out, as losing six or nine tiles makes very
# many of them; each hand and round is off by at most this.
SMALLEST = 1e-6


@dataclass(frozen=True)
class PlannedRound:
    """One round of a plan; ``expected`` is what is within reach once its tiles have gone."""

    passed: tuple[Tile, ...]
    expected: float


@dataclass(frozen=True)
class Plan:
    """The rounds in order.

    Attributes:
        total: Sum of the rounds' expected hands.
        gap: No plan is worth more than ``total + gap + resolution``.
    """

    rounds: tuple[PlannedRound, ...]
    status: Status
    total: float
    gap: float
    resolution: float


def _situations(question: Question, rounds: int) -> list[Situation]:
    first = question.situation
    if question.arrivals is None and question.drill is None:
        played = ORDER[ORDER.index(question.round) :]
        later = [replace(question, round=played[index], give=PASS_SIZE) for index in range(1, rounds)]
        return [first, *(each.situation for each in later)]
    # As many tiles come in with each pass as go; the first may be of fewer than three.
    come = [0, *(question.tiles_given + PASS_SIZE * later for later in range(rounds - 1))]
    charleston = first.arrivals.charleston
    return [replace(first, arrivals=first.arrivals.after(max(0, charleston - gone))) for gone in come]


def plan(question: Question, rounds: int, stopper: Stopper | None = None) -> Plan:
    """Return the best plan over the next rounds.

    Args:
        question: The question; its limits hold for the present pass, its families, hands and weights
            for every round. The present pass gives its number of tiles, each later one three.
        rounds: Rounds to plan, 1 to 3, no more than can still be played and the rack has tiles for.
        stopper: Ends the work on request.

    Raises:
        FaultyInputError: limits that name what the card does not have, or leave no hand; a rack with
            too few tiles that may go; fewer tiles unseen than a later round has to come.
        ClashError: the limits contradict one another.
        NoAnswerError: the cap on work was hit with nothing found.
        StoppedError: a stop was asked for.
        MismatchError: the re-scorer does not confirm the plan.
    """
    stopper = stopper or Stopper()
    tables = tables_of(question.card)
    weights = hand_weights(question.card, question.limits)
    limits = limit_terms(question.limits)
    situations = _situations(question, rounds)
    bits = RackBits.of(situations[0].held)
    if question.tiles_given + PASS_SIZE * (rounds - 1) > bits.size:
        raise FaultyInputError([Fault("range", ("rounds",), f"only {bits.size} tiles may go in all")])
    model = cp_model.CpModel()
    stages: list[Variables] = []
    for index, situation in enumerate(situations):
        stopper.check()
        gone = question.tiles_given + PASS_SIZE * index
        options = options_of(situation, tables, bits, gone, weights > 0, SMALLEST)
        stage = Variables.new(bits, options, question.card.family_of_hand, model)
        add_pass_size(stage, gone)
        add_hand_options(stage)
        if stages:
            add_nested(stages[-1], stage)
        else:
            for limit in limits:
                limit.add(stage)
        stages.append(stage)
    scales = [Scale.of(stage.options, weights) for stage in stages]
    unit = max(scale.unit for scale in scales)
    worth = [np.rint(scale.worth * (scale.unit / unit)).astype(np.int64).tolist() for scale in scales]
    total = cp_model.LinearExpr.weighted_sum(
        [chosen for stage in stages for chosen in stage.chosen],
        [value for values in worth for value in values],
    )
    model.maximize(total)
    solver = new_solver(question.effort)
    status = stopper.solve(solver, model)
    if status == cp_model.INFEASIBLE:
        raise ClashError(clash_of(problem_of(question), question.effort, stopper))
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        raise NoAnswerError
    units, bound = round(solver.objective_value), round(solver.best_objective_bound)
    gone_by = [_gone(solver, stage) for stage in stages]
    if status == cp_model.OPTIMAL:
        gone_by = _first_in_order(model, stages, total, units, question.effort, stopper) or gone_by
    floor = sum(float(stage.options.floor @ weights) for stage in stages)
    return _confirmed(
        question,
        situations,
        gone_by,
        Status.OPTIMAL if status == cp_model.OPTIMAL else Status.FEASIBLE,
        floor + units * unit,
        floor + max(bound, units) * unit,
    )


def _gone(solver: cp_model.CpSolver, stage: Variables) -> Counter[Tile]:
    gone: Counter[Tile] = Counter()
    for index, tile in enumerate(stage.bits.kinds):
        for copy in range(1, stage.bits.counts[index] + 1):
            gone[tile] += int(solver.boolean_value(stage.passed[stage.bits.bit(index, copy)]))
    return gone


def _first_in_order(
    model: cp_model.CpModel,
    stages: list[Variables],
    total: cp_model.LinearExprT,
    units: int,
    effort: float,
    stopper: Stopper,
) -> list[Counter[Tile]] | None:
    """Among plans of equal worth return the first by the order weights of each round in turn."""
    model.add(total == units)
    weights = []
    for index in range(len(stages)):
        # A tile that goes in round i is gone in all later ones: weigh it by differences, so that the
        # sum is that of the rounds' own passes.
        step = ORDER_SPAN ** (len(stages) - 1 - index)
        weights.append(step - (ORDER_SPAN ** (len(stages) - 2 - index) if index + 1 < len(stages) else 0))
    terms = [
        (stage.passed[stage.bits.bit(kind, copy)], weight * ORDER_WEIGHTS[kind])
        for stage, weight in zip(stages, weights, strict=True)
        for kind, count in enumerate(stage.bits.counts)
        for copy in range(1, count + 1)
    ]
    model.minimize(
        cp_model.LinearExpr.weighted_sum([boolean for boolean, _ in terms], [weight for _, weight in terms])
    )
    solver = new_solver(effort)
    if stopper.solve(solver, model) != cp_model.OPTIMAL:
        return None
    return [_gone(solver, stage) for stage in stages]


def _confirmed(
    question: Question,
    situations: list[Situation],
    gone_by: list[Counter[Tile]],
    status: Status,
    claimed: float,
    bound: float,
) -> Plan:
    tables = tables_of(question.card)
    weights = hand_weights(question.card, question.limits)
    resolution = 2 * SMALLEST * len(weights) * len(situations) * max(1.0, float(weights.max()))
    planned = []
    before: Counter[Tile] = Counter()
    for situation, gone in zip(situations, gone_by, strict=True):
        expected = score(situation, tables, weights, gone.elements()).expected
        now = tuple(sorted((gone - before).elements(), key=lambda tile: tile.position))
        planned.append(PlannedRound(now, expected))
        before = gone
    total = sum(each.expected for each in planned)
    # Short of the optimum the options chosen may fall short of what the passes leave.
    most = claimed if status is Status.OPTIMAL else bound
    if not claimed - resolution <= total <= most + resolution:
        raise MismatchError(f"solver {claimed!r} to {most!r}, re-scorer {total!r}")
    gap = 0.0 if status is Status.OPTIMAL else max(0.0, bound - total)
    return Plan(tuple(planned), status, total, gap, resolution)
