"""The two practice cards are what they are said to be."""

from collections import Counter
from itertools import permutations

import numpy as np
import pytest

from patterns.card import Card, Target, Trait, remarks_of
from patterns.card_file import shipped_card
from patterns.tiles import DRAGON_OF, Suit, Tile, numbered
from tests.benchmarks.card_figures import best_hands, drill, kept_alone
from tests.benchmarks.card_ideas import FULL as FULL_IDEAS
from tests.benchmarks.card_ideas import SMALL as SMALL_IDEAS
from tests.benchmarks.card_ideas import faults_of

SMALL, FULL = shipped_card("small"), shipped_card("full")
BOTH = pytest.mark.parametrize("card", [SMALL, FULL], ids=["small", "full"])


def test_the_small_card_is_small() -> None:
    assert 18 <= len(SMALL.hands) <= 22
    assert 4 <= len(SMALL.families) <= 5
    assert SMALL.target_count <= 900


def test_the_full_card_is_full() -> None:
    assert 50 <= len(FULL.hands) <= 65
    assert len(FULL.families) >= 8
    assert FULL.target_count <= 3_000
    assert sum(hand.concealed for hand in FULL.hands) >= 6
    assert sum(Trait.PAIRS_ONLY in hand.traits for hand in FULL.hands) >= 2


@BOTH
def test_hands_of_a_family_stand_together_and_their_targets_are_a_fair_part(card: Card) -> None:
    order = [hand.family for hand in card.hands]
    assert order == sorted(order, key=card.families.index)
    for family in card.families:
        hands = [hand for hand in card.hands if hand.family == family]
        assert 4 <= len(hands) <= 8
        assert 0.03 <= sum(len(hand.targets) for hand in hands) / card.target_count <= 0.30


@BOTH
def test_no_two_hands_share_a_target_and_none_needs_a_remark_but_for_jokers(card: Card) -> None:
    needs = [target.needs for hand in card.hands for target in hand.targets]
    assert len(set(needs)) == len(needs)
    assert all("without jokers" in remark.detail for remark in remarks_of(card))


@BOTH
def test_no_target_is_of_a_kind_that_is_kept_away(card: Card) -> None:
    found = {hand.name: faults for hand in card.hands for t in hand.targets if (faults := faults_of(t))}
    assert found == {}


def _ranks(target: Target) -> set[int]:
    return {group.tile.rank for group in target.groups if group.tile.rank}


@BOTH
def test_every_line_with_numbers_mixes_odd_and_even_ranks(card: Card) -> None:
    """Not by the filter of the search: read off the tiles again."""
    for hand in card.hands:
        for target in hand.targets:
            assert not _ranks(target) or {rank % 2 for rank in _ranks(target)} == {0, 1}
            assert not _ranks(target) or _ranks(target) - {3, 6, 9}


@pytest.mark.parametrize("card", [SMALL, FULL], ids=["small", "full"])
def test_every_hand_is_a_shape_of_its_family_s_idea(card: Card) -> None:
    ideas = {family.name: family for family in (*SMALL_IDEAS, *FULL_IDEAS)}
    for family in card.families:
        shapes = {text for shape in ideas[family].shapes() for text in shape}
        for hand in card.hands:
            assert hand.family != family or set(hand.notation) <= shapes


@BOTH
def test_no_hand_names_a_suit_or_one_dragon(card: Card) -> None:
    for order in permutations(Suit):
        new = dict(zip(Suit, order, strict=True))
        moved: dict[Tile, Tile] = {DRAGON_OF[suit]: DRAGON_OF[new[suit]] for suit in Suit}
        moved |= {numbered(rank, suit): numbered(rank, new[suit]) for rank in range(1, 10) for suit in Suit}
        for hand in card.hands:
            needs = {frozenset(target.needs) for target in hand.targets}
            assert {
                frozenset((moved.get(tile, tile), p, g) for tile, p, g in need) for need in needs
            } == needs


@BOTH
def test_every_family_is_the_best_one_on_some_racks_and_none_on_most(card: Card) -> None:
    """300 racks: wider bounds than the 3 to 30 % of 2,000 racks that the cards are made for."""
    best = Counter(card.hands[hand].family for hand in best_hands(card, 4_100, 300).tolist())
    assert all(0.01 <= best[family] / 300 <= 0.36 for family in card.families)


def test_lone_winds_and_dragons_mostly_go_at_the_first_pass() -> None:
    kept = kept_alone(FULL, 4_200, 100)
    assert kept["winds"][0] / kept["winds"][1] < 0.40
    assert kept["dragons"][0] / kept["dragons"][1] < 0.50


@pytest.mark.long
def test_a_drill_by_advice_ends_as_near_as_common_practice_says() -> None:
    """Three to four tiles away (common practice, no source); 30 drills tell it to about 0.2."""
    assert 3.2 <= np.mean([drill(FULL, "advised", 4_300, number)[1] for number in range(30)]) <= 4.3
