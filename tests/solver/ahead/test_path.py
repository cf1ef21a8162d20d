from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import solver.ahead as module
from patterns.card import Trait
from patterns.faults import FaultyInputError
from patterns.rack import Rack
from patterns.tiles import KINDS, Tile
from solver.ahead import Path, incoming
from solver.arrivals import Arrivals, Coming, after_the_exchanges, default_arrivals
from solver.card_tables import tables_of
from solver.deals import deal
from solver.exact import exact_scores
from solver.limits import AtLeast, Choice, Limits, hand_weights
from solver.question import Question
from solver.rescore import score
from solver.rounds import DRILL_RACK, FIRST_CHARLESTON, ORDER, SECOND_CHARLESTON, Drill, Round
from solver.situation import Situation
from solver.stopping import StoppedError, Stopper
from tests.solver.played import all_but, rack, small, tiles, tiny

SET = Counter({tile: tile.copies for tile in KINDS})
HELD = rack("F F F N N N E E red red S W W J")


def question_about(held: Rack, round_: Round = Round.FIRST_RIGHT, **parts: object) -> Question:
    return Question(tiny(), held, round_, **parts)  # type: ignore[arg-type]


def asked(monkeypatch: pytest.MonkeyPatch) -> list[Question]:
    """Keep every question that a path puts to the solver."""
    questions: list[Question] = []

    def problem_of(question: Question) -> object:
        questions.append(question)
        return original(question)

    original = module.problem_of
    monkeypatch.setattr(module, "problem_of", problem_of)
    return questions


def test_limits_on_tiles_are_of_one_pass_those_on_hands_of_all() -> None:
    on_hands = Limits(
        only=Choice(families=("one",)), without=Choice(traits=(Trait.BIG_GROUPS,)), weights=(("Wide", 2.0),)
    )
    on_tiles = replace(
        on_hands,
        stay=tiles("J"),
        go=tiles("W"),
        no_pairs=True,
        no_flowers=True,
        no_neighbours=True,
        keep_hands=AtLeast(1, 0.1),
        keep_families=AtLeast(1, 0.1),
    )
    assert Path.start(question_about(HELD, limits=on_tiles)).question.limits == on_hands


def test_what_is_given_is_seen_and_what_comes_in_is_held() -> None:
    path = Path.start(question_about(HELD, seen=tiles("9d")))
    after = path.exchange(tiles("S W red"), tiles("1b 1b 2c")).question
    assert after.rack == rack("F F F N N N E E red W J 1b 1b 2c")
    assert Counter(after.seen) == Counter(tiles("9d S W red"))


@st.composite
def _journeys(draw: st.DrawFn) -> tuple[Rack, tuple[Tile, ...], list[Round], int, bool]:
    seed = draw(st.integers(0, 10_000))
    size = draw(st.sampled_from([13, 14]))
    dealt = deal(seed, 0, size)
    seen = dealt.heap[-draw(st.integers(1, 30)) :]
    rounds = draw(st.lists(st.sampled_from(ORDER), min_size=1, max_size=4))
    drill = size == DRILL_RACK and draw(st.booleans())
    return dealt.rack, seen, rounds, draw(st.integers(0, 99)), drill


@given(_journeys())
@settings(max_examples=30, deadline=None)
def test_tiles_are_conserved_in_every_exchange_and_no_joker_moves(
    journey: tuple[Rack, tuple[Tile, ...], list[Round], int, bool],
) -> None:
    held, seen, rounds, seed, drill = journey
    path = Path.start(question_about(held, seen=seen, drill=Drill(len(rounds), 9) if drill else None))
    heaps = incoming(path.question, [(round_, 3) for round_ in rounds], seed, 0)
    unseen = SET - Counter(held.tiles) - Counter(seen)
    for came, round_ in zip(heaps, rounds, strict=True):
        before = path.question
        path = path.pass_best(round_, came, Stopper())
        after = path.question
        unseen -= Counter(came)
        passed = list(after.seen[len(before.seen) :])
        assert Counter(after.rack.tiles) + Counter(passed) == Counter(before.rack.tiles) + Counter(came)
        assert Counter(after.rack.tiles) + Counter(after.seen) + unseen == SET
        assert [int(count) for count in after.situation.unseen] == [unseen[tile] for tile in KINDS]
        assert len(passed) == 3
        assert Tile.JOKER not in (*passed, *came)
        assert after.rack.tiles.count(Tile.JOKER) == held.tiles.count(Tile.JOKER)


@pytest.mark.parametrize("give", [1, 2, 3])
def test_as_many_go_as_come_in_and_they_are_the_best_ones(give: int) -> None:
    held = deal(12, give).rack
    question = Question(small(), held, Round.FIRST_LEFT)
    (order,) = incoming(question, [(Round.FIRST_LEFT, give)], 1, 0)
    after = Path.start(question).pass_best(Round.COURTESY, order, Stopper()).question
    scores = exact_scores(Question(small(), held, Round.COURTESY, give))
    (given_now,) = [score for score in scores if Counter(score.passed) == Counter(after.seen)]
    assert given_now.expected == pytest.approx(scores[0].expected, abs=1e-7)
    assert Counter(after.rack.tiles) == Counter(held.tiles) - Counter(after.seen) + Counter(order)


def test_nothing_happens_when_nothing_comes_in() -> None:
    path = Path.start(question_about(HELD))
    assert path.pass_best(Round.COURTESY, [], Stopper()) is path


@pytest.mark.parametrize("arrivals", [None, Arrivals(8, 11, 6)])
def test_each_pass_counts_on_the_exchanges_of_its_own_round(
    monkeypatch: pytest.MonkeyPatch, arrivals: Arrivals | None
) -> None:
    questions = asked(monkeypatch)
    start = question_about(HELD, Round.SECOND_LEFT, arrivals=arrivals)
    exchanges = [*((round_, 3) for round_ in SECOND_CHARLESTON), (Round.COURTESY, 2)]
    *second, last = incoming(start, exchanges, 0, 0)
    path = Path.start(start).play(SECOND_CHARLESTON, second, Stopper())
    path.pass_best(Round.COURTESY, last, Stopper())
    then = Arrivals(0, 11, 6) if arrivals else after_the_exchanges()
    assert [question.situation.arrivals for question in questions] == [
        then.after(default_arrivals(round_, give).charleston) for round_, give in exchanges
    ]
    assert [question.round for question in questions] == [*SECOND_CHARLESTON, Round.COURTESY]


@pytest.mark.parametrize("arrivals", [None, Arrivals(8, 5, 0)])
def test_a_drill_counts_on_its_exchanges_left(
    monkeypatch: pytest.MonkeyPatch, arrivals: Arrivals | None
) -> None:
    questions = asked(monkeypatch)
    start = question_about(HELD, drill=Drill(4, 20), arrivals=arrivals)
    heaps = incoming(start, [(Round.FIRST_RIGHT, 3)] * 3, 0, 0)
    Path.start(start).play([Round.FIRST_RIGHT] * 3, heaps, Stopper())
    draws = 5 if arrivals else 20
    assert [question.situation.arrivals for question in questions] == [
        Arrivals(9, draws, 0),
        Arrivals(6, draws, 0),
        Arrivals(3, draws, 0),
    ]


def test_stated_arrivals_need_not_leave_room_for_the_defaults() -> None:
    """Twelve tiles unseen, three exchanges: fewer than the defaults ask for."""
    pool = Counter(tiles("F F F F E E S N N 1b 1b 1b"))
    held = rack("F F N N E E red red S S W W 2b")
    seen = all_but(held, pool)
    with pytest.raises(FaultyInputError):
        question_about(held, seen=seen)
    start = question_about(held, seen=seen, arrivals=Arrivals(9, 2, 1))
    *heaps, rest = incoming(start, [*((round_, 3) for round_ in FIRST_CHARLESTON), (Round.COURTESY, 3)], 0, 0)
    end = Path.start(start).play(FIRST_CHARLESTON, heaps, Stopper()).question
    assert Counter(rest) == SET - Counter(end.rack.tiles) - Counter(end.seen)


@pytest.mark.parametrize("drill", [None, Drill(2, 12)])
@pytest.mark.parametrize("arrivals", [None, Arrivals(9, 5, 4)])
def test_at_the_end_only_draws_and_claims_are_to_come(arrivals: Arrivals | None, drill: Drill | None) -> None:
    limits = Limits(weights=(("Wide", 3.0),), without=Choice(hands=("Odd",)))
    seen = tiles("1b 2c")
    path = Path.start(question_about(HELD, arrivals=arrivals, drill=drill, seen=seen, limits=limits))
    then: Coming = after_the_exchanges()
    if arrivals or drill:
        then = Arrivals(0, 5, 4) if arrivals else Arrivals(0, 12, 0)
    situation = Situation(HELD, seen, then, jokers_in_wall=drill is None)
    expected = score(situation, tables_of(tiny()), hand_weights(tiny(), limits), ()).expected
    assert expected > 0
    assert path.value() == expected


def test_a_stop_ends_the_journey() -> None:
    stopper = Stopper()
    stopper.stop()
    with pytest.raises(StoppedError):
        Path.start(question_about(HELD)).pass_best(Round.FIRST_RIGHT, tiles("1b 1b 1b"), stopper)
