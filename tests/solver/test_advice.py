"""Answers: every number they state against counting out all passes, and the same on every run."""

import os
import random
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from itertools import permutations

import pytest

from patterns.rack import Rack
from patterns.tiles import DRAGON_OF, KINDS, Suit, Tile, numbered
from solver.advice import Advice, ClashError, Closeness, advise
from solver.arrivals import Arrivals, default_arrivals
from solver.deals import deal
from solver.limits import AtLeast, Choice, Limits
from solver.model import MismatchError, PassModel
from solver.passes import PassTable
from solver.rounds import Drill, Round
from solver.situation import POWER, Objective, Question
from tests.solver.enumeration import Enumeration, check_answer
from tests.solver.played import count_out, own, question, rack, random_rack, small, tiny

ODD_RACKS = {
    "jokers and flowers": "JJJJJJJJ FFFFFF",
    "jokers and winds": "JJJJJJJJ NEWS N",
    "thirteen tiles": "1b 3b 5b 2c 4c 8c 6d 9d N E F J red",
    "one suit": "11223344556677b",
    "fours": "1111b 2222b 3333b NN",
    "no two alike": "123456789b NEWS F",
    "winds and dragons": "NNN EEE WWW SSS red green",
    "eight flowers": "FFFFFFFF 1b 5c 9d N J J",
    "the first fourteen kinds": " ".join(tile.value for tile in KINDS[:14]),
}
NUMBERS = (Round.FIRST_LEFT, Round.SECOND_RIGHT, Round.COURTESY)
# East's 14 tiles, a table's 13, and a rack with three jokers.
RACKS = {
    "deal": deal(31, 0).rack,
    "thirteen": deal(31, 1, 13).rack,
    "jokers": rack("2344b 35c 5d N F F white J J J"),
}
HELD = "2b 4b 4c 55c 5d 6c 18d E W F F J"


@pytest.mark.parametrize("held", ODD_RACKS.values(), ids=ODD_RACKS)
@pytest.mark.parametrize("name", ["small", "full"])
def test_odd_racks_equal_the_enumeration(held: str, name: str) -> None:
    answer = check_answer(Enumeration.of(question(held, name)), Limits())
    assert answer is not None
    assert Tile.JOKER not in answer.passed


def test_a_card_of_ones_own_with_limits_equals_the_enumeration() -> None:
    limits = Limits.of(no_flowers=True, no_like_numbers=True, keep_families=AtLeast(2, 1e-4))
    for seed in range(6):
        found = Enumeration.of(Question(own(), random_rack(random.Random(seed)), Round.FIRST_RIGHT))
        assert check_answer(found, Limits()) is not None
        check_answer(found, limits)


@pytest.mark.parametrize(("objective", "power"), [(Objective.STRENGTH, POWER), (Objective.SUM, 1)])
def test_what_the_answer_says_adds_up(objective: Objective, power: float) -> None:
    for seed in range(8):
        held = random_rack(random.Random(seed))
        asked = question(held, "full" if seed % 2 else "small", objective=objective)
        answer = advise(asked)
        assert answer.question is asked
        assert list(answer.passed) == sorted(answer.passed, key=lambda tile: tile.position)
        weights = {hand.name: hand.weight for hand in asked.card.hands}
        total = sum(made.reach**power * weights[made.hand.name] for made in answer.hands)
        assert answer.strength == pytest.approx(total, rel=1e-12)
        assert answer.strength <= answer.hands.before.strength
        total = sum(made.reach * weights[made.hand.name] for made in answer.hands)
        assert answer.expected == pytest.approx(total, rel=1e-12)
        assert answer.expected <= answer.hands.before.expected
        # In order to twelve decimals: equal but for the last digit is equal.
        reaches = [round(made.reach, 12) for made in answer.hands]
        assert reaches == sorted(reaches, reverse=True)
        assert min(reaches) > 0
        weighted = [
            round((loss.before**power - loss.after**power) * weights[loss.hand.name], 12)
            for loss in answer.given_up
        ]
        assert weighted == sorted(weighted, reverse=True)
        assert min((loss.lost for loss in answer.given_up), default=1.0) > 1e-6
        lost = answer.hands.before.strength - answer.strength
        assert sum(weighted) == pytest.approx(lost, abs=1e-6 * sum(weights.values()))
        assert answer.arrivals == default_arrivals(Round.FIRST_RIGHT, 3)
        assert [value.passed for value in answer.by_number] == [answer.passed] and answer.blind == 0


def test_the_number_of_runner_ups_is_the_number_asked_for() -> None:
    held = random_rack(random.Random(4))
    full = advise(question(held, alternatives=10))
    assert len(full.runner_ups) == 10
    for wanted in (0, 1, 5):
        fewer = advise(question(held, alternatives=wanted))
        assert fewer.passed == full.passed
        assert fewer.runner_ups == full.runner_ups[:wanted]
        assert fewer.closeness == (full.closeness if wanted else None)


@pytest.mark.parametrize(
    ("objective", "close", "fair"), [(Objective.STRENGTH, 0.01, 0.04), (Objective.SUM, 0.005, 0.02)]
)
def test_closeness_follows_the_gap(objective: Objective, close: float, fair: float) -> None:
    met = set()
    for seed in range(40):
        answer = advise(question(random_rack(random.Random(seed)), objective=objective))
        gap = answer.behind(answer.runner_ups[0])
        share = gap / answer.strength
        expected = Closeness.CLOSE if share < close else Closeness.FAIR if share < fair else Closeness.CLEAR
        assert answer.closeness is (Closeness.TOSS_UP if gap <= answer.resolution else expected)
        met.add(answer.closeness)
    assert {Closeness.CLOSE, Closeness.FAIR, Closeness.CLEAR} <= met


def check_numbers(advice: Advice, question: Question) -> None:
    """Each number: worth, pass, arrivals; then the best of them, the gains and what the limits cost."""
    counted, free = {}, 0.0
    for value in advice.by_number:
        give = len(value.passed)
        asked = question.giving(give)
        worth = count_out(asked)
        free = max(free, *count_out(replace(asked, limits=Limits())).values())
        counted[give] = max(worth.values())
        assert value.strength == pytest.approx(counted[give], abs=1e-11)
        assert worth[value.passed] == pytest.approx(value.strength, abs=1e-12)
        assert advice.behind(value) == pytest.approx(advice.strength - value.strength, abs=1e-12)
    assert list(counted) == sorted(counted)
    assert advice.strength == pytest.approx(max(counted.values()), abs=1e-11)
    assert counted[len(advice.passed)] == pytest.approx(advice.strength, abs=1e-11)
    if question.limits.on_pass and advice.limits_cost and len(counted) == 4:
        assert advice.limits_cost.strength == pytest.approx(free - advice.strength, abs=1e-11)


@pytest.mark.parametrize("round_", NUMBERS)
@pytest.mark.parametrize("held", RACKS)
def test_every_number_equals_counting_out(held: str, round_: Round) -> None:
    for limits in (Limits(), Limits.of(no_pairs=True, stay=RACKS[held].tiles[:2])):
        asked = Question(small(), RACKS[held], round_, limits=limits, alternatives=0)
        advice = advise(asked)
        assert len(advice.by_number) == 4
        check_numbers(advice, asked)
        assert advice.question == asked
        blind = [0] * 4 if round_ is Round.COURTESY else [3, 2, 1, 0]
        assert [asked.blind_beside(value.passed) for value in advice.by_number] == blind


@pytest.mark.parametrize("charleston", [1, 4])
@pytest.mark.parametrize("round_", NUMBERS)
def test_stated_arrivals_are_those_of_giving_three(round_: Round, charleston: int) -> None:
    asked = Question(small(), RACKS["deal"], round_, arrivals=Arrivals.of(charleston, 9, 7), alternatives=0)
    advice = advise(asked)
    check_numbers(advice, asked)
    assert advice.arrivals == Arrivals.of(max(0, charleston - 3 + len(advice.passed)), 9, 7)


def test_a_drill_compares_with_its_own_exchanges() -> None:
    asked = Question(small(), RACKS["deal"], Round.FIRST_LEFT, drill=Drill(2, 20), alternatives=0)
    advice = advise(asked)
    for value in advice.by_number:
        give = len(value.passed)
        stated = replace(asked, give=give, arrivals=Arrivals.of(give + 3, 20, 0))
        assert value.strength == pytest.approx(max(count_out(stated).values()), abs=1e-11)
    assert advice.arrivals == Arrivals.of(len(advice.passed) + 3, 20, 0)


def test_of_equals_the_one_that_gives_more() -> None:
    """Nothing comes in, and the tiny card has no use for numbered tiles: any number is worth the same."""
    held = rack("F F F F N N N W W W S S 1b 2b")
    advice = advise(Question(tiny(), held, Round.COURTESY, arrivals=Arrivals.of(0, 9, 0), alternatives=0))
    values = {len(value.passed): value.strength for value in advice.by_number}
    assert values[0] == values[1] == values[2] > values[3]
    assert advice.passed == (Tile.B1, Tile.B2)


def test_tiles_that_must_go_rule_out_smaller_numbers() -> None:
    limits = Limits.of(go=(Tile.C3, Tile.WHITE))
    asked = Question(small(), RACKS["jokers"], Round.SECOND_RIGHT, limits=limits, alternatives=0)
    advice = advise(asked)
    assert [len(value.passed) for value in advice.by_number] == [2, 3]
    assert all({Tile.C3, Tile.WHITE} <= set(value.passed) for value in advice.by_number)
    check_numbers(advice, asked)
    # What the limits cost counts the numbers that they rule out.
    free = advise(replace(asked, limits=Limits()))
    assert advice.limits_cost is not None
    assert advice.limits_cost.strength == pytest.approx(free.strength - advice.strength, abs=1e-12)
    assert advice.limits_cost.share == pytest.approx(advice.limits_cost.strength / free.strength)


def test_limits_on_hands_cost_no_pass_and_limits_that_change_nothing_cost_nothing() -> None:
    asked = question(HELD)
    free = advise(asked)
    assert free.limits_cost is None
    hands = Limits.of(without=Choice(hands=(free.hands[0].hand.name,)))
    assert advise(replace(asked, limits=hands)).limits_cost is None
    idle = advise(replace(asked, limits=Limits.of(go=free.passed)))
    assert (idle.passed, idle.limits_cost and idle.limits_cost.strength) == (free.passed, 0.0)


def test_limits_that_contradict_are_a_clash() -> None:
    limits = Limits.of(go=(Tile.FLOWER, Tile.FLOWER), no_flowers=True, no_neighbors=True)
    for round_ in (Round.COURTESY, Round.FIRST_RIGHT):
        with pytest.raises(ClashError) as caught:
            advise(Question(small(), RACKS["jokers"], round_, limits=limits))
        assert [limit.name for limit in caught.value.clashing] == ["go", "no_flowers"]
        assert str(caught.value) == ("no pass keeps all of: two flowers must go; a flower is never passed")
    with pytest.raises(ClashError) as caught:
        advise(Question(small(), RACKS["jokers"], Round.FIRST_RIGHT, limits=limits), diagnose=False)
    assert caught.value.clashing == ()


@pytest.mark.parametrize("objective", Objective)
@pytest.mark.parametrize("limits", [Limits(), Limits.of(no_pairs=True, stay=RACKS["deal"].tiles[:2])])
@pytest.mark.parametrize("round_", [Round.FIRST_RIGHT, Round.FIRST_LEFT])
def test_a_pass_of_ones_own_equals_counting_out(round_: Round, limits: Limits, objective: Objective) -> None:
    """The best pass, the worst and some between, of three tiles and of fewer where that may be."""
    asked = Question(small(), RACKS["deal"], round_, limits=limits, objective=objective, alternatives=0)
    free = replace(asked, limits=Limits())
    worth = {give: count_out(free.giving(give)) for give in asked.numbers_to_compare}
    every = [value for passes in worth.values() for value in passes.values()]
    for passes in worth.values():
        for place in {0, len(passes) // 3, len(passes) - 1}:
            passed = list(passes)[place]
            advice = advise(replace(asked, mine=passed))
            mine = advice.mine
            assert mine is not None and (mine.passed, mine.of) == (passed, len(every))
            assert mine.strength == pytest.approx(passes[passed], abs=1e-12)
            gap = advice.strength - mine.strength
            assert mine.gap == pytest.approx(gap if abs(gap) > advice.resolution else 0.0, abs=1e-12)
            assert mine.share == pytest.approx(mine.gap / advice.strength, abs=1e-9)
            assert mine.rank == 1 + sum(value > mine.strength + 1e-12 for value in every)
            goes = Counter(passed)
            stays = [limit for limit in limits.on_pass if limit.name == "stay"]
            broken = [
                limit for limit in stays if (Counter(asked.rack.tiles) - goes)[limit.tile] < limit.copies
            ]
            assert [limit for limit in mine.breaks if limit.name == "stay"] == broken
            pairs = bool(limits.on_pass) and max(goes.values(), default=0) > 1
            assert any(limit.name == "no_pairs" for limit in mine.breaks) is pairs
            kept = {hand.hand.name for hand in mine.keeps}
            assert not kept & {hand.hand.name for hand in mine.loses}
            assert all(hand.after > hand.before for hand in mine.keeps)
            assert all(hand.after < hand.before for hand in mine.loses)
            assert (mine.gap <= 0) or mine.loses


def relabelled(tile: Tile, suits: dict[Suit, Suit]) -> Tile:
    for suit, dragon in DRAGON_OF.items():
        if tile is dragon:
            return DRAGON_OF[suits[suit]]
    return numbered(tile.rank, suits[tile.suit]) if tile.suit else tile


def test_exchanging_suits_exchanges_the_answer() -> None:
    """Suits are unbound on a card of one's own that names none."""
    for seed in range(8):
        asked = Question(own(), random_rack(random.Random(seed)), Round.FIRST_RIGHT)
        answer = advise(asked)
        for changed in list(permutations(Suit))[1:]:
            suits = dict(zip(Suit, changed, strict=True))
            other = replace(asked, rack=Rack(tuple(relabelled(tile, suits) for tile in asked.rack.tiles)))
            assert advise(other).strength == pytest.approx(answer.strength, rel=1e-12)
            table = PassTable.of(other)
            moved = table.index_of(relabelled(tile, suits) for tile in answer.passed)
            assert table.units[moved] == table.units.max()
            assert table.before.strength == pytest.approx(answer.hands.before.strength, rel=1e-12)


SCRIPT = """
import random
from tests.solver.played import question, random_rack
from solver.advice import advise
answer = advise(question(random_rack(random.Random(5)), "full", alternatives=5))
print(answer.passed, answer.strength, answer.closeness, answer.runner_ups)
print([(made.hand.name, made.reach, made.served_by, made.missing) for made in answer.hands])
"""


@pytest.mark.long
def test_other_processes_and_hash_seeds_give_the_same_answer() -> None:
    said = {
        subprocess.run(
            [sys.executable, "-c", SCRIPT],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("0", "1", "4242")
    }
    assert len(said) == 1


@pytest.mark.parametrize(
    "wrong",
    [
        lambda mask, worth: (mask, worth + 1),
        lambda mask, worth: (mask, worth - 1),
        lambda mask, worth: (0b111, worth),
        lambda mask, worth: None,
    ],
)
def test_table_and_model_must_agree_to_the_last_unit(
    monkeypatch: pytest.MonkeyPatch, wrong: Callable[[int, int], object]
) -> None:
    real = PassModel.solve
    monkeypatch.setattr(PassModel, "solve", lambda model: wrong(*real(model)))
    with pytest.raises(MismatchError, match="table"):
        advise(question(HELD))


def test_a_pass_that_breaks_a_limit_is_never_given(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the model picks is looked at by the limit's own check; here the model forgets the limit."""
    best = advise(question(HELD)).passed[0]
    limits = Limits.of(stay=(best,) * question(HELD).rack.tiles.count(best))
    assert best not in advise(question(HELD, limits=limits)).passed
    monkeypatch.setattr("solver.limits.TilesStay.add", lambda limit, model: None)
    with pytest.raises(MismatchError):
        advise(question(HELD, limits=limits))


def test_a_clash_is_one_by_the_model_too(monkeypatch: pytest.MonkeyPatch) -> None:
    limits = Limits.of(go=(Tile.FLOWER,), no_flowers=True)
    monkeypatch.setattr("solver.limits.NoFlowers.add", lambda limit, model: None)
    with pytest.raises(MismatchError, match="none by the table"):
        advise(question(HELD, limits=limits))
