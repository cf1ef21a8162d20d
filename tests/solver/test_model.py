"""The model against counting out all passes, against another solver, and stopped."""

import random
from dataclasses import replace

import numpy as np
import pytest
from ortools.sat.python import cp_model_helper as cp_sat
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_array

from patterns.rack import parse_tiles
from solver.advice import advise
from solver.limits import AtLeast, Limits
from solver.model import MismatchError, PassModel, around, run_solver
from solver.passes import PARTS, PassTable
from solver.rounds import Round
from solver.situation import Objective
from tests.solver.enumeration import Enumeration, check_answer, random_limits
from tests.solver.played import card, question, random_rack

LONG = pytest.mark.long
RACKS = [("small", range(20)), ("full", range(1000, 1006))]
RACKS += [
    pytest.param(name, seeds, marks=LONG)
    for name, seeds in (("small", range(20, 60)), ("full", range(1006, 1020)))
]
GIVES = [(Round.FIRST_RIGHT, None)] * 3 + [(Round.COURTESY, give) for give in (1, 2, 3)]
RACK = "345b 33c 3d NN FF J 99d 8c"


def compare_with_enumeration(name: str, seeds: range) -> tuple[int, int]:
    """Compare every rack with and without limits, by either objective; count those answered and clashed."""
    answered = clashed = 0
    for seed in seeds:
        rnd = random.Random(seed)
        round_, give = rnd.choice(GIVES)
        rack = random_rack(rnd, rnd.choice((13, 14, 14)))
        objective = list(Objective)[seed % 2]
        found = Enumeration.of(question(rack, name, round=round_, give=give, objective=objective))
        assert check_answer(found, Limits()) is not None
        if check_answer(found, random_limits(rnd, card(name), rack)) is None:
            clashed += 1
        else:
            answered += 1
    return answered, clashed


@pytest.mark.parametrize(("name", "seeds"), RACKS)
def test_equals_the_enumeration_of_all_passes(name: str, seeds: range) -> None:
    answered, clashed = compare_with_enumeration(name, seeds)
    assert answered > len(seeds) / 2
    assert clashed > 0 or len(seeds) < 10


CLASHES = [
    (RACK, Limits.of(stay=parse_tiles("FF"), go=parse_tiles("F"))),
    (RACK, Limits.of(go=parse_tiles("33c"), no_pairs=True)),
    (RACK, Limits.of(go=parse_tiles("33c 3d"), no_like_numbers=True, no_flowers=True)),
    (RACK, Limits.of(go=parse_tiles("34b"), no_neighbors=True, no_flowers=True)),
    (RACK, Limits.of(keep_hands=AtLeast(20, 0.5), no_pairs=True)),
    (RACK, Limits.of(keep_families=AtLeast(300, 1e-9), keep_hands=AtLeast(1, 1e-9))),
    ("FFFFFF JJJJJJJJ", Limits.of(no_pairs=True, keep_hands=AtLeast(1, 0.01))),
]


@pytest.mark.parametrize(("rack", "limits"), CLASHES)
def test_limits_that_contradict_are_named_and_no_others(rack: str, limits: Limits) -> None:
    found = Enumeration.of(question(rack))
    assert not found.worth(limits)
    assert check_answer(found, limits) is None


@pytest.mark.parametrize("name", ["small", "full"])
def test_a_model_of_every_pass_finds_what_one_of_the_best_finds(name: str) -> None:
    """What the table leaves out of the model changes nothing; its own sums agree to the last unit."""
    for seed in range(3):
        table = PassTable.of(question(random_rack(random.Random(seed)), name, round=Round.COURTESY))
        best = table.order[:3].tolist()
        found = []
        for passes in (around(table, best), np.arange(len(table.masks))):
            model = PassModel(table, passes)
            model.maximize()
            for index in best:
                picked = model.solve()
                assert picked is not None
                mask, worth = picked
                assert worth == table.units[index] == table.units[table.masks == mask][0]
                model.exclude(mask)
                found.append(worth)
        assert found[:3] == found[3:]


def by_highs(model: PassModel, table: PassTable, give: int) -> tuple[float, int]:
    """Return the best strength, floors included, and the bits of a best pass, by HiGHS.

    Columns: a binary a bit, then one an option. The rows say: so many bits; a later copy only with the
    one before; an option and a bit it forbids never both; one option a hand.
    """
    bits, options = table.bits, model.options
    passed, chosen = bits.size, len(options.hand)
    rows: list[tuple[dict[int, float], float, float]] = [(dict.fromkeys(range(passed), 1.0), give, give)]
    rows += [
        ({bit: 1.0, bit - 1: -1.0}, -1, 0)
        for bit in range(1, passed)
        if bits.kind_of[bit] == bits.kind_of[bit - 1]
    ]
    rows += [
        ({passed + option: 1.0, bit: 1.0}, 0, 1)
        for option, forbidden in enumerate(options.forbidden.tolist())
        for bit in range(passed)
        if forbidden >> bit & 1
    ]
    for hand in np.unique(options.hand):
        of_hand = np.flatnonzero(options.hand == hand).tolist()
        rows.append((dict.fromkeys((passed + option for option in of_hand), 1.0), 0, 1))
    matrix = lil_array((len(rows), passed + chosen))
    for row, (entries, _, _) in enumerate(rows):
        for column, value in entries.items():
            matrix[row, column] = value
    low, high = np.array([row[1:] for row in rows], float).T
    gains = (options.units - options.floor_units[options.hand]) / PARTS
    result = milp(
        np.concatenate([np.zeros(passed), -gains]),
        integrality=np.ones(passed + chosen),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(matrix.tocsr(), low, high),
        options={"mip_rel_gap": 0.0},
    )
    assert result.status == 0, result.message
    mask = sum(1 << bit for bit in range(passed) if result.x[bit] > 0.5)
    return float(options.floor_units.sum() / PARTS - result.fun) * table.unit * PARTS, mask


SEEDS = [*range(2000, 2004), *(pytest.param(seed, marks=LONG) for seed in range(2004, 2050))]


@pytest.mark.parametrize("seed", SEEDS)
def test_equals_highs(seed: int) -> None:
    name = "small" if seed % 5 else "full"
    asked = question(random_rack(random.Random(seed)), name)
    table = PassTable.of(asked)
    theirs, mask = by_highs(PassModel(table, np.arange(len(table.masks))), table, 3)
    assert advise(asked).strength == pytest.approx(theirs, rel=1e-6)
    assert mask.bit_count() == 3
    assert table.strength[table.masks == mask][0] == pytest.approx(theirs, rel=1e-6)


@pytest.mark.parametrize("scale", [1e-6, 1e-3, 64.0, 1000.0])
def test_one_weight_for_all_hands_changes_no_pass(scale: float) -> None:
    for seed in range(15):
        asked = question(random_rack(random.Random(seed)), "full" if seed % 3 == 0 else "small")
        plain = advise(asked)
        weights = tuple((hand.name, hand.weight * scale) for hand in asked.card.hands)
        scaled = advise(replace(asked, limits=Limits.of(weights=weights)))
        assert scaled.passed == plain.passed
        assert [other.passed for other in scaled.runner_ups] == [other.passed for other in plain.runner_ups]
        assert scaled.closeness is plain.closeness
        assert scaled.strength == pytest.approx(plain.strength * scale, rel=1e-12)
        assert scaled.resolution == pytest.approx(plain.resolution * scale, rel=1e-12)


def test_a_model_that_is_not_taken_is_a_defect() -> None:
    model = cp_sat.CpModelProto()
    model.variables.add().domain.extend((5, 1))
    with pytest.raises(MismatchError, match="domain"):
        run_solver(cp_sat.SolveWrapper(), model)
