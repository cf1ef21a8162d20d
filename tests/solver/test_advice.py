import os
import random
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from itertools import permutations
from threading import Thread

import pytest

import solver.advice as advice
from patterns.rack import Rack
from patterns.tiles import DRAGON_OF, KINDS, Suit, Tile, numbered
from solver.advice import Advice, Call, ClashError, MismatchError, advise
from solver.arrivals import Arrivals, default_arrivals
from solver.card_tables import tables_of
from solver.limits import Choice, Limits, hand_weights
from solver.pass_model import NoAnswerError, Solution, Status, best_passes
from solver.rescore import Score, score
from solver.rounds import Round
from solver.stopping import StoppedError, Stopper
from tests.solver.compare import check_answer
from tests.solver.enumeration import enumerate_passes
from tests.solver.racks import card, question, random_rack

ODD_RACKS = {
    "jokers and flowers": "JJJJJJJJ FFFFFF",
    "jokers and winds": "JJJJJJJJ NEWS N",
    "thirteen tiles": "1b 3b 5b 2c 4c 8c 6d 9d N E F J red",
    "one suit": "11223344556677b",
    "fours": "1111b 2222b 3333b NN",
    "no two alike": "123456789b NEWS F",
    "honours": "NNN EEE WWW SSS red green",
    "eight flowers": "FFFFFFFF 1b 5c 9d N J J",
}


@pytest.mark.parametrize("rack", ODD_RACKS.values(), ids=ODD_RACKS)
def test_odd_racks_equal_the_enumeration(rack: str) -> None:
    for name in ("small", "full"):
        answer = check_answer(enumerate_passes(question(rack, name)), Limits())
        assert answer is not None
        assert Tile.JOKER not in answer.passed


def test_one_pass_only() -> None:
    answer = advise(question("JJJJJJJJ FFFFFF"))
    assert answer.passed == (Tile.FLOWER,) * 3
    assert answer.runner_ups == ()
    assert answer.call is Call.ONLY


def test_no_arrivals_make_every_pass_even() -> None:
    answer = advise(question(random_rack(random.Random(1)), arrivals=Arrivals(0, 0, 0)))
    assert (answer.expected, answer.call) == (0.0, Call.EVEN)
    assert answer.hands == ()


def test_what_the_answer_says_adds_up() -> None:
    for seed in range(8):
        asked = question(random_rack(random.Random(seed)), "full" if seed % 2 else "small")
        answer = advise(asked)
        assert answer.question is asked
        assert list(answer.passed) == sorted(answer.passed, key=lambda tile: tile.position)
        assert answer.expected == pytest.approx(sum(made.reach for made in answer.hands), rel=1e-12)
        assert answer.expected <= answer.expected_before
        # In order to twelve decimals: equal but for the last digit is equal.
        reaches = [round(made.reach, 12) for made in answer.hands]
        assert reaches == sorted(reaches, reverse=True)
        assert min(reaches) > 0
        losses = {loss.hand.name: round(loss.before - loss.after, 12) for loss in answer.given_up}
        assert list(losses.values()) == sorted(losses.values(), reverse=True)
        assert min(losses.values()) > 1e-6
        lost = sum(losses.values())
        assert lost == pytest.approx(
            answer.expected_before - answer.expected, abs=1e-6 * len(asked.card.hands)
        )
        assert answer.arrivals == default_arrivals(Round.FIRST_RIGHT, 3)
        assert [(n.give, n.blind, n.passed, n.gain) for n in answer.by_number] == [(3, 0, answer.passed, 0.0)]


def test_losses_of_hands_that_weigh_more_come_first() -> None:
    asked = question(random_rack(random.Random(3)))
    last = advise(asked).given_up[-1].hand.name
    heavy = question(asked.rack, limits=Limits(weights=((last, 1e-9),)))
    assert [loss.hand.name for loss in advise(heavy).given_up][-1] == last


def test_the_number_of_runner_ups_is_the_number_asked_for() -> None:
    rack = random_rack(random.Random(4))
    full = advise(question(rack, alternatives=10))
    assert len(full.runner_ups) == 10
    for wanted in (0, 1, 5):
        fewer = advise(question(rack, alternatives=wanted))
        assert fewer.passed == full.passed
        assert len(fewer.runner_ups) == wanted
        for one, other in zip(fewer.runner_ups, full.runner_ups, strict=False):
            assert one.passed == other.passed
            # Scored next to others, the last digit may differ.
            assert (one.expected, one.gap) == pytest.approx((other.expected, other.gap), abs=1e-15)
        assert fewer.call == (full.call if wanted else None)


def test_the_call_follows_the_gap() -> None:
    calls = set()
    for seed in range(40):
        answer = advise(question(random_rack(random.Random(seed))))
        gap = answer.runner_ups[0].gap
        share = gap / answer.expected
        expected = Call.CLOSE if share < 0.005 else Call.FAIR if share < 0.02 else Call.CLEAR
        assert answer.call is (Call.EVEN if gap <= answer.proof.resolution else expected)
        calls.add(answer.call)
    assert {Call.CLOSE, Call.FAIR, Call.CLEAR} <= calls


@pytest.mark.parametrize("round_", [Round.FIRST_LEFT, Round.SECOND_RIGHT, Round.COURTESY])
def test_numbers_left_open_are_all_compared(round_: Round) -> None:
    rack = random_rack(random.Random(6))
    answer = advise(question(rack, round=round_))
    each = [advise(question(rack, round=round_, give=give)) for give in range(4)]
    assert [n.give for n in answer.by_number] == [0, 1, 2, 3]
    assert [n.expected for n in answer.by_number] == pytest.approx([a.expected for a in each], rel=1e-12)
    assert [n.passed for n in answer.by_number] == [a.passed for a in each]
    assert [n.gain for n in answer.by_number] == pytest.approx(
        [a.expected - each[0].expected for a in each], abs=1e-12
    )
    blind = [0] * 4 if round_ is Round.COURTESY else [3, 2, 1, 0]
    assert [n.blind for n in answer.by_number] == blind
    best = max(range(4), key=lambda give: each[give].expected)
    assert (answer.passed, answer.expected) == (each[best].passed, pytest.approx(each[best].expected))


def test_limits_that_fit_some_numbers_leave_the_others_out() -> None:
    limits = Limits(go=(Tile.NORTH, Tile.NORTH))
    answer = advise(question("111b 22c 345d NN FF J", round=Round.COURTESY, limits=limits))
    assert [n.give for n in answer.by_number] == [2, 3]
    assert answer.passed.count(Tile.NORTH) == 2


def test_contradicting_limits_raise() -> None:
    limits = Limits(stay=(Tile.NORTH, Tile.NORTH), go=(Tile.NORTH,), only=Choice(families=("ladders",)))
    with pytest.raises(ClashError) as caught:
        advise(question("111b 22c 345d NN FF J", limits=limits))
    assert [limit.place for limit in caught.value.clashing] == [("stay",), ("go",)]
    assert str(caught.value) == ("no pass keeps all of: 2 of north wind must stay; 1 of north wind must go")


def test_shuffled_racks_give_the_same_answer() -> None:
    for seed in range(6):
        rnd = random.Random(seed)
        tiles = list(random_rack(rnd).tiles)
        answers = []
        for _ in range(3):
            rnd.shuffle(tiles)
            answers.append(advise(question(Rack(tuple(tiles)), "full" if seed < 2 else "small")))
        assert answers[0] == answers[1] == answers[2]


def relabelled(tile: Tile, suits: dict[Suit, Suit]) -> Tile:
    for suit, dragon in DRAGON_OF.items():
        if tile is dragon:
            return DRAGON_OF[suits[suit]]
    return numbered(tile.rank, suits[tile.suit]) if tile.suit else tile


def relabellings() -> list[dict[Suit, Suit]]:
    return [dict(zip(Suit, changed, strict=True)) for changed in permutations(Suit)][1:]


def test_the_small_card_is_closed_under_exchanging_suits() -> None:
    for suits in relabellings():
        for hand in card("small").hands:
            needs = {target.needs for target in hand.targets}
            changed = {
                tuple(
                    sorted(
                        ((relabelled(tile, suits), plain, grouped) for tile, plain, grouped in need),
                        key=lambda part: part[0].position,
                    )
                )
                for need in needs
            }
            assert changed == needs


def test_exchanging_suits_exchanges_the_answer() -> None:
    unique = 0
    for seed in range(12):
        asked = question(random_rack(random.Random(seed)))
        answer = advise(asked)
        for suits in relabellings():
            other = advise(question(Rack(tuple(relabelled(tile, suits) for tile in asked.rack.tiles))))
            assert other.expected == pytest.approx(answer.expected, abs=answer.proof.resolution)
            assert other.expected_before == pytest.approx(answer.expected_before, rel=1e-12)
            if answer.runner_ups[0].gap > 2 * answer.proof.resolution:
                unique += 1
                moved = sorted((relabelled(tile, suits) for tile in answer.passed), key=lambda t: t.position)
                assert other.passed == tuple(moved)
    assert unique > 20


SCRIPT = """
import random
from tests.solver.racks import question, random_rack
from solver.advice import advise
answer = advise(question(random_rack(random.Random(5)), "full", alternatives=5))
print(answer.passed, answer.expected, answer.proof, answer.call, answer.runner_ups)
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
    assert b"OPTIMAL" in said.pop()


def test_threads_give_the_same_answer() -> None:
    racks = [random_rack(random.Random(seed)) for seed in range(4)]
    expected = [advise(question(rack)) for rack in racks]
    got: list[Advice | None] = [None] * 8

    def run(index: int) -> None:
        got[index] = advise(question(racks[index % 4]))

    threads = [Thread(target=run, args=(index,)) for index in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert got == expected * 2


def test_a_stop_asked_for_before() -> None:
    stopper = Stopper()
    stopper.stop()
    with pytest.raises(StoppedError):
        advise(question(random_rack(random.Random(1))), stopper)


def test_a_little_work_is_said_to_be_short_of_a_proof() -> None:
    seen = set()
    for seed in range(6):
        asked = question(random_rack(random.Random(seed)), "full", effort=1e-5)
        answer = advise(asked)
        worth = enumerate_passes(asked).worth(Limits())
        seen.add(answer.proof.status)
        assert answer.expected == pytest.approx(worth[answer.passed], rel=1e-12)
        assert answer.proof.bound >= max(worth.values()) - answer.proof.resolution
        assert answer.proof.gap == pytest.approx(answer.proof.bound - answer.expected, abs=1e-12)
    assert Status.FEASIBLE in seen


def test_a_re_scorer_that_disagrees_is_never_overruled(monkeypatch: pytest.MonkeyPatch) -> None:
    def off(*args: object) -> list[Score]:
        return [replace(right, expected=right.expected + 1e-5) for right in advice_scores(*args)]

    advice_scores = advice.scores
    monkeypatch.setattr(advice, "scores", off)
    with pytest.raises(MismatchError, match="re-scorer"):
        advise(question(random_rack(random.Random(1))))


@pytest.mark.parametrize(
    ("passed", "limits"),
    [
        ((Tile.NORTH, Tile.NORTH, Tile.FLOWER), Limits(no_pairs=True)),
        ((Tile.NORTH, Tile.FLOWER), Limits()),
    ],
)
def test_a_pass_that_breaks_a_limit_is_never_given(
    passed: tuple[Tile, ...], limits: Limits, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = question("111b 22c 345d NN FF J", limits=limits)
    weights = hand_weights(asked.card, limits)
    value = score(asked.situation, tables_of(asked.card), weights, passed).expected
    wrong = Solution(passed, Status.OPTIMAL, value, value, 1e-6)
    monkeypatch.setattr(advice, "best_passes", lambda *args: iter([wrong]))
    with pytest.raises(MismatchError, match="breaks a limit"):
        advise(asked)


def test_the_rack_of_the_first_fourteen_kinds_is_no_trouble() -> None:
    assert len(advise(question(Rack(KINDS[:14]))).passed) == 3


def test_a_cap_hit_on_a_runner_up_keeps_the_best_pass(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = question("2b 4b 4c 55c 5d 6c 18d E W F F J", "small")
    whole = advise(asked)

    def cut_short(*given: object) -> Iterator[Solution]:
        yield next(best_passes(*given))
        raise NoAnswerError

    monkeypatch.setattr("solver.advice.best_passes", cut_short)
    answer = advise(asked)
    assert (answer.passed, answer.proof) == (whole.passed, whole.proof)
    assert answer.runner_ups == ()
    assert answer.call is None, "a search that was cut short does not know that there is no other pass"


def test_of_passes_found_before_the_cap_the_better_one_is_advised(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = question("2b 4b 4c 55c 5d 6c 18d E W F F J", "small")
    whole = advise(asked)

    def backwards(*given: object) -> Iterator[Solution]:
        for solution in list(best_passes(*given))[::-1]:
            yield replace(solution, status=Status.FEASIBLE, bound=whole.expected + 0.5)

    monkeypatch.setattr("solver.advice.best_passes", backwards)
    answer = advise(asked)
    assert answer.passed == whole.passed
    assert answer.proof.gap == pytest.approx(0.5)
    assert [other.passed for other in answer.runner_ups] == [other.passed for other in whole.runner_ups]
