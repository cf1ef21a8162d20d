"""How many tiles are to come, at a table and in a drill."""

import random
from math import fsum
from statistics import fmean

import pytest

from solver.arrivals import CHOOSING, Arrivals, Length, Play, default_arrivals
from solver.limits import Limits, hand_weights
from solver.passes import score
from solver.rounds import ORDER, RULES, THEN_DRAWS, Drill, Round
from solver.situation import Question, tables_of
from tests.solver.played import card, random_rack

NAMED = Arrivals.of(6, 12, 7)
MIXED = Arrivals(6, (Length(10, 4, 0.5), Length(14, 8, 0.25), Length(20, 0, 0.25)))


@pytest.mark.parametrize("round_", Round)
def test_as_many_come_as_go_and_what_later_exchanges_are_worth(round_: Round) -> None:
    later = CHOOSING.later[ORDER.index(round_)]
    for give in RULES[round_].allowed:
        assert default_arrivals(round_, give) == Arrivals(give + later, CHOOSING.lengths)
    assert default_arrivals(None) == Arrivals(0, CHOOSING.lengths)


def test_what_comes_in_now_may_be_worth_less_than_its_number_but_never_less_than_nothing() -> None:
    play = Play((Length(9, 3, 1.0),), (0, 0, 0, 0, 0, 0, -2))
    assert [play.coming(Round.COURTESY, give).charleston for give in range(4)] == [0, 0, 0, 1]
    assert play.coming(None, 0) == Arrivals(0, play.lengths)


def test_the_default_lengths_are_different_ones_and_leave_room_in_a_whole_set() -> None:
    """Of 144 naturals a rack holds up to 14, and some come by exchanges."""
    lengths = CHOOSING.lengths
    assert fsum(each.share for each in lengths) == pytest.approx(1, abs=1e-12)
    assert len({(each.draws, each.claims) for each in lengths}) == len(lengths)
    assert all(each.share > 0 and each.draws >= 0 and each.claims >= 0 for each in lengths)
    by_exchanges = max(default_arrivals(round_, 3).charleston for round_ in Round)
    assert max(each.draws + each.claims for each in lengths) <= 144 - 14 - by_exchanges


def test_possibilities_their_shares_and_means() -> None:
    assert NAMED.parts == ((1.0, NAMED),)
    named = ((0.5, (6, 10, 4)), (0.25, (6, 14, 8)), (0.25, (6, 20, 0)))
    assert MIXED.parts == tuple((share, Arrivals.of(*counts)) for share, counts in named)
    assert (NAMED.mean_draws, NAMED.mean_claims, NAMED.most) == (12, 7, 25)
    assert (MIXED.mean_draws, MIXED.mean_claims, MIXED.most) == (13.5, 4.0, 28)


@pytest.mark.parametrize(
    ("share", "room", "draws", "claims"),
    [
        (0.8, 100, 10, 6),  # 9.6 and 5.6
        (1.2, 100, 14, 8),  # 14.4 and 8.4
        (1.0, 25, 12, 7),  # just room for all
        (1.2, 25, 14, 5),  # claims are cut first
        (1.2, 15, 9, 0),  # then draws
        (1.2, 6, 0, 0),  # the exchanges take all
        (0.0, 100, 0, 0),
    ],
)
def test_scaled_rounds_and_keeps_within_the_room(share: float, room: int, draws: int, claims: int) -> None:
    assert NAMED.scaled(share, room) == Arrivals.of(6, draws, claims)
    mixed = Arrivals(6, (Length(12, 7, 0.75), Length(0, 0, 0.25)))
    assert mixed.scaled(share, room).lengths == (Length(draws, claims, 0.75), Length(0, 0, 0.25))


def mean_worth(name: str, drill: Drill | None) -> float:
    """Return what the whole rack is worth before a first pass, on average over a hundred random racks."""
    rnd = random.Random(2024)
    tables, weights = tables_of(card(name)), hand_weights(card(name), Limits())
    worth = []
    for _ in range(100):
        asked = Question(card(name), random_rack(rnd), Round.FIRST_RIGHT, drill=drill)
        worth.append(score(asked.situation, tables, weights, ()).expected)
    return fmean(worth)


@pytest.mark.parametrize("name", ["small", "full"])
def test_with_the_default_draws_a_rack_of_a_drill_is_worth_about_what_it_is_at_a_table(name: str) -> None:
    """Within a factor of two; on the full card no other number is as near: measured anew with arrivals."""
    table = mean_worth(name, None)
    fewer, default, more = (mean_worth(name, Drill(3, THEN_DRAWS + change)) for change in (-1, 0, 1))
    assert table / 2 < fewer < default < more < table * 2
    if name == "full":
        assert abs(default - table) < min(abs(fewer - table), abs(more - table))
