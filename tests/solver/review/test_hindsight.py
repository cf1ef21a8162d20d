"""Hindsight against counting out, with what came in already there."""

from collections import Counter

import pytest

from patterns.rack import Pile, Rack
from patterns.tiles import KINDS, Tile
from solver.arrivals import LATER_EXCHANGES, after_the_exchanges
from solver.card_tables import tables_of
from solver.exact import all_passes
from solver.limits import Limits, hand_weights
from solver.question import Question
from solver.rescore import score
from solver.review import Exchange, GradedPass, Record
from solver.rounds import FIRST_CHARLESTON, ORDER, Round
from solver.situation import Situation
from tests.solver.played import grade, graded_best, rack, small, tiles, tiny


def counted_hindsight(graded: GradedPass) -> float:
    """Return the best that any pass of the old rack could have left, given what came in."""
    moment, exchange = graded.moment, graded.exchange
    pile = Pile((*moment.rack.tiles, *exchange.received))
    later = after_the_exchanges().after(LATER_EXCHANGES[exchange.round])
    situation = Situation(pile, moment.seen, later)
    weights = hand_weights(small(), Limits())
    question = Question(small(), moment.rack, Round.FIRST_LEFT, len(exchange.given))
    return max(
        score(situation, tables_of(small()), weights, passed).expected for passed in all_passes(question)
    )


@pytest.mark.parametrize("seed", [71])
def test_hindsight_is_the_best_with_what_came_in(seed: int) -> None:
    result = graded_best(seed, FIRST_CHARLESTON)
    assert [graded.exchange.round for graded in result.passes] == list(FIRST_CHARLESTON)
    for graded in result.passes:
        seen = graded.hindsight
        assert seen.expected == pytest.approx(counted_hindsight(graded), abs=1e-7)
        assert seen.expected >= seen.made - 1e-7
        assert len(seen.passed) == len(graded.exchange.given)
        assert not Counter(seen.passed) - Counter(graded.moment.rack.tiles)


@pytest.mark.parametrize(
    ("seed", "size", "spoil"), [(61, 14, 0), (61, 14, 4), (63, 13, None), (63, 13, 6), (61, 14, None)]
)
def test_hindsight_is_never_below_what_was_made(seed: int, size: int, spoil: int | None) -> None:
    for graded in graded_best(seed, ORDER, size, None, spoil).passes:
        assert graded.hindsight.expected >= graded.hindsight.made - 1e-7


def test_hindsight_of_seventeen_kinds() -> None:
    """A rack of fourteen kinds and three more that come in: more kinds than one rack can have."""
    given = KINDS[:3]
    exchange = Exchange(Round.FIRST_RIGHT, given, KINDS[14:17])
    (graded,) = grade(Record(small(), Rack(KINDS[:14]), (exchange,))).passes
    assert graded.hindsight.expected == pytest.approx(counted_hindsight(graded), abs=1e-7)


def test_hindsight_may_not_pass_what_came_in() -> None:
    """Numbered tiles are of no use on the tiny card, and those that came in must stay."""
    held = rack("F F F N N N E E red red S S 1b")
    exchange = Exchange(Round.FIRST_RIGHT, tiles("1b S S"), tiles("1b 2b 3b"))
    (graded,) = grade(Record(tiny(), held, (exchange,))).passes
    seen = graded.hindsight.passed
    assert Tile.B1 in seen
    assert seen.count(Tile.B1) == 1
    assert not {Tile.B2, Tile.B3} & set(seen)
