from math import fsum

import pytest

from solver.arrivals import (
    LATER_EXCHANGES,
    LENGTHS,
    Arrivals,
    Coming,
    Length,
    MixedArrivals,
    after_the_exchanges,
    default_arrivals,
)
from solver.rounds import RULES, Round

NAMED = Arrivals(6, 12, 7)
FORECAST = MixedArrivals(6, (Length(10, 4, 0.5), Length(14, 8, 0.25), Length(20, 0, 0.25)))


@pytest.mark.parametrize("round_", Round)
def test_as_many_come_as_go_and_what_later_exchanges_are_worth(round_: Round) -> None:
    for give in RULES[round_].allowed:
        assert default_arrivals(round_, give) == MixedArrivals(give + LATER_EXCHANGES[round_], LENGTHS)


def test_no_tile_comes_from_exchanges_once_they_are_over() -> None:
    assert after_the_exchanges() == MixedArrivals(0, LENGTHS)


def test_the_shares_of_the_default_lengths_sum_to_1() -> None:
    assert fsum(each.share for each in LENGTHS) == pytest.approx(1, abs=1e-12)


def test_the_default_lengths_are_several_each_named_once_and_none_negative() -> None:
    assert len({(each.draws, each.claims) for each in LENGTHS}) == len(LENGTHS) > 1
    assert all(each.share > 0 and each.draws >= 0 and each.claims >= 0 for each in LENGTHS)
    assert all(type(count) is int for each in LENGTHS for count in (each.draws, each.claims))


def test_the_default_lengths_leave_room_in_a_whole_set() -> None:
    """Of 144 naturals a rack holds up to 14, and some come by exchanges."""
    by_exchanges = max(default_arrivals(round_, 3).charleston for round_ in Round)
    assert max(each.draws + each.claims for each in LENGTHS) <= 144 - 14 - by_exchanges


def test_parts_are_the_possibilities_with_their_shares() -> None:
    assert NAMED.parts == ((1.0, NAMED),)
    assert FORECAST.parts == (
        (0.5, Arrivals(6, 10, 4)),
        (0.25, Arrivals(6, 14, 8)),
        (0.25, Arrivals(6, 20, 0)),
    )


def test_means_weigh_lengths_by_their_shares() -> None:
    assert (NAMED.mean_draws, NAMED.mean_claims) == (12, 7)
    assert (FORECAST.mean_draws, FORECAST.mean_claims) == (13.5, 4.0)


@pytest.mark.parametrize("coming", [NAMED, FORECAST])
def test_after_changes_the_exchanges_alone(coming: Coming) -> None:
    later = coming.after(2)
    assert later.charleston == 2
    assert [(share, each.draws, each.claims) for share, each in later.parts] == [
        (share, each.draws, each.claims) for share, each in coming.parts
    ]
    assert all(each.charleston == 2 for _, each in later.parts)
    assert later.after(6) == coming


def test_without_claims_nothing_is_claimed_and_all_else_stays() -> None:
    assert NAMED.without_claims() == Arrivals(6, 12, 0)
    assert FORECAST.without_claims() == MixedArrivals(
        6, (Length(10, 0, 0.5), Length(14, 0, 0.25), Length(20, 0, 0.25))
    )


@pytest.mark.parametrize(
    ("share", "room", "draws", "claims"),
    [
        (0.8, 100, 10, 6),  # 9.6 and 5.6
        (1.2, 100, 14, 8),  # 14.4 and 8.4
        (1.0, 25, 12, 7),  # just room for all
        (1.2, 25, 14, 5),  # claims are cut first
        (1.2, 20, 14, 0),
        (1.2, 15, 9, 0),  # then draws
        (1.2, 6, 0, 0),  # the exchanges take all
        (0.0, 100, 0, 0),
    ],
)
def test_scaled_rounds_and_keeps_within_the_room(share: float, room: int, draws: int, claims: int) -> None:
    assert NAMED.scaled(share, room) == Arrivals(6, draws, claims)
    one_length = MixedArrivals(6, (Length(12, 7, 1.0),))
    assert one_length.scaled(share, room) == MixedArrivals(6, (Length(draws, claims, 1.0),))


def test_each_length_is_scaled_by_itself() -> None:
    assert FORECAST.scaled(1.5, 100) == MixedArrivals(
        6, (Length(15, 6, 0.5), Length(21, 12, 0.25), Length(30, 0, 0.25))
    )
    # With room for 26 after the exchanges the shortest stays whole.
    assert FORECAST.scaled(1.5, 32) == MixedArrivals(
        6, (Length(15, 6, 0.5), Length(21, 5, 0.25), Length(26, 0, 0.25))
    )
    assert FORECAST.scaled(1.5, 6) == MixedArrivals(
        6, (Length(0, 0, 0.5), Length(0, 0, 0.25), Length(0, 0, 0.25))
    )


def test_scaling_by_1_with_room_changes_nothing() -> None:
    assert NAMED.scaled(1.0, 100) == NAMED
    assert FORECAST.scaled(1.0, 100) == FORECAST


def test_the_most_that_may_come_is_that_of_the_longest_play() -> None:
    assert NAMED.most == 6 + 12 + 7
    assert FORECAST.most == 6 + 14 + 8
    assert FORECAST.after(0).most == 14 + 8
