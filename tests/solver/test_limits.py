"""Limits: each a constraint of the model and a check that says the same, held against rules written apart."""

import random

import numpy as np
import pytest

from patterns.card import Trait
from patterns.faults import FaultyInputError
from patterns.rack import parse_tiles
from patterns.tiles import Tile
from solver.limits import LIMITS, AtLeast, Choice, Limit, Limits, hand_weights
from solver.model import PassModel
from solver.passes import PassTable
from solver.rounds import Round
from solver.situation import Question
from tests.solver.enumeration import Enumeration
from tests.solver.played import own, question, rack, random_rack

RACK = "345b 33c 3d NN FF J 99d 8c"
CARD = own()
NAMES = [hand.name for hand in CARD.hands]


def left_by(question: Question, limit: Limit) -> list[bool]:
    """Return which passes a model of that pass alone, under the limit, has a solution for."""
    table = PassTable.of(question)
    every = [PassModel(table, np.array([index]), (limit,)) for index in range(len(table.masks))]
    return [model.solve() is not None for model in every]


SET = {
    "stay": parse_tiles("33c N"),
    "go": parse_tiles("33c"),
    "no_pairs": True,
    "no_flowers": True,
    "no_neighbors": True,
    "no_like_numbers": True,
    "keep_hands": AtLeast(3, 0.02),
    "keep_families": AtLeast(2, 0.03),
}


@pytest.mark.parametrize("name", [limit.name for limit in LIMITS])
def test_constraint_and_check_leave_the_same_passes_and_some_are_lost(name: str) -> None:
    asked = question(RACK)
    found, table = Enumeration.of(asked), PassTable.of(asked)
    weights = hand_weights(asked.card, Limits())
    for limit in Limits.of(**{name: SET[name]}).on_pass:
        right = [found.keeps(limit, index, weights) for index in range(len(found.passes))]
        assert [table.keeps(index, (limit,)) for index in range(len(table.masks))] == right
        assert left_by(asked, limit) == right
        assert True in right and False in right


@pytest.mark.parametrize("sort", ["hand", "family"])
def test_reach_to_be_kept_is_counted_where_it_is_sure_and_where_it_hangs_on_the_pass(sort: str) -> None:
    """Whatever goes some hands keep this reach, others only if the right tiles stay, some never do."""
    asked = question(random_rack(random.Random(8)), "full", round=Round.COURTESY, give=2)
    reach = PassTable.of(asked).reach
    for share in (0.25, 0.5, 0.9):
        wanted = float(np.quantile(reach.max(axis=1), share))
        enough = (reach >= wanted * (1 - 1e-12)).T
        owners = range(len(reach)) if sort == "hand" else asked.card.family_of_hand
        counts = [len({owners[hand] for hand in np.flatnonzero(row)}) for row in enough]
        name = "keep_hands" if sort == "hand" else "keep_families"
        for count in sorted({min(counts), max(counts), max(counts) + 1} - {0}):
            (limit,) = Limits.of(**{name: AtLeast(count, wanted)}).on_pass
            assert left_by(asked, limit) == [each >= count for each in counts]


def test_three_of_one_number_whatever_their_suits() -> None:
    """Winds, dragons and flowers have no number."""
    asked = Question(own(), rack("3b 3c 3d 33d NNN FFF J 4b 5b"), Round.FIRST_RIGHT)
    (limit,) = Limits.of(no_like_numbers=True).on_pass
    table = PassTable.of(asked)
    refused = [table.tiles(i) for i in range(len(table.masks)) if not table.keeps(i, (limit,))]
    threes = {Tile.B3, Tile.C3, Tile.D3}
    assert len(refused) == 4 and all(set(passed) <= threes for passed in refused)
    assert table.keeps(table.index_of((Tile.NORTH,) * 3), (limit,))


def test_a_kind_named_twice_means_two_of_it() -> None:
    stay = Limits.of(stay=parse_tiles("N 3c N")).on_pass
    assert [limit.says for limit in stay] == ["one 3 crak must stay", "two north winds must stay"]


def weight_of(limits: Limits) -> dict[str, float]:
    return dict(zip(NAMES, hand_weights(CARD, limits).tolist(), strict=True))


def test_only_families_hands_and_traits_add_up() -> None:
    only = Choice(families=("shelves",), hands=("Left Out",), traits=(Trait.PAIRS_ONLY,))
    counted = {name for name, weight in weight_of(Limits.of(only=only)).items() if weight}
    assert counted == {"Copper Pans", "Left Out", "Tea Towels"} < set(NAMES)


def test_without_takes_away_also_from_only() -> None:
    limits = Limits.of(only=Choice(families=("weather",)), without=Choice(hands=("Left Out",)))
    assert {name for name, weight in weight_of(limits).items() if weight} == {"Open Window"}


def test_weights_by_name_replace_those_of_the_card_but_bring_nothing_back() -> None:
    limits = Limits.of(without=Choice(hands=("Left Out",)), weights=(("Left Out", 5.0), ("Tea Towels", 2.5)))
    weights = weight_of(limits)
    assert (weights["Left Out"], weights["Tea Towels"], weights["Copper Pans"]) == (0, 2.5, 1)


def test_every_unknown_name_is_a_fault_in_its_place() -> None:
    limits = Limits.of(
        only=Choice(families=("weather", "castles"), hands=("Left Out", "Nowhere")),
        without=Choice(hands=("Nobody",)),
        weights=(("Nothing", 1.0),),
    )
    with pytest.raises(FaultyInputError) as caught:
        hand_weights(CARD, limits)
    assert [(fault.kind, fault.place) for fault in caught.value.faults] == [
        ("unknown-name", ("only", "families", 1)),
        ("unknown-name", ("only", "hands", 1)),
        ("unknown-name", ("without", "hands", 0)),
        ("unknown-name", ("weights", "Nothing")),
    ]


@pytest.mark.parametrize(
    "limits",
    [
        Limits.of(without=Choice(families=CARD.families)),
        Limits.of(only=Choice(hands=("Left Out",)), without=Choice(families=("weather",))),
        Limits.of(weights=tuple((name, 0.0) for name in NAMES)),
    ],
)
def test_some_hand_must_count(limits: Limits) -> None:
    with pytest.raises(FaultyInputError) as caught:
        hand_weights(CARD, limits)
    assert [fault.kind for fault in caught.value.faults] == ["no-hand-left"]
