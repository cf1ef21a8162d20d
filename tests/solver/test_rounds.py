"""The rounds of a Charleston: common practice, no source."""

import pytest

from solver.rounds import ORDER, PASS_SIZE, RULES, Agreement, Direction, Round, sure_to_follow

DIRECTIONS = {
    Round.FIRST_RIGHT: Direction.RIGHT,
    Round.FIRST_ACROSS: Direction.ACROSS,
    Round.FIRST_LEFT: Direction.LEFT,
    Round.SECOND_LEFT: Direction.LEFT,
    Round.SECOND_ACROSS: Direction.ACROSS,
    Round.SECOND_RIGHT: Direction.RIGHT,
    Round.COURTESY: Direction.ACROSS,
}


def test_every_round_has_a_rule_and_a_place_in_the_order() -> None:
    assert set(RULES) == set(Round) == set(ORDER)
    assert len(ORDER) == 7
    assert {round_: rule.direction for round_, rule in RULES.items()} == DIRECTIONS


def test_three_tiles_go_but_where_blind_or_courtesy_allow_fewer() -> None:
    assert PASS_SIZE == 3
    fewer = {round_ for round_, rule in RULES.items() if rule.allowed == (0, 1, 2, 3)}
    assert fewer == {Round.FIRST_LEFT, Round.SECOND_RIGHT, Round.COURTESY}
    assert all(RULES[round_].allowed == (3,) for round_ in set(Round) - fewer)


def test_the_last_pass_of_each_charleston_may_be_blind() -> None:
    assert {round_ for round_, rule in RULES.items() if rule.blind} == {Round.FIRST_LEFT, Round.SECOND_RIGHT}


def test_who_must_agree() -> None:
    agreements = {rule.agreement: set() for rule in RULES.values()}
    for round_, rule in RULES.items():
        agreements[rule.agreement].add(round_)
    assert agreements == {
        Agreement.NOBODY: set(ORDER[:3]),
        Agreement.ALL: set(ORDER[3:6]),
        Agreement.OPPOSITE: {Round.COURTESY},
    }


@pytest.mark.parametrize("round_", Round)
def test_those_sure_to_follow_come_next_in_the_order(round_: Round) -> None:
    after = ORDER.index(round_) + 1
    assert sure_to_follow(round_) == ORDER[after : after + len(sure_to_follow(round_))]
