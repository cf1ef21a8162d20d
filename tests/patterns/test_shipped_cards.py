"""The two practice cards are what they are said to be."""

import re
from importlib import resources
from itertools import permutations

import pytest

from patterns.card import Card, Trait, remarks_of
from patterns.card_file import shipped_card
from patterns.tiles import DRAGON_OF, Suit, Tile, numbered

SMALL, FULL = shipped_card("small"), shipped_card("full")
BOTH = pytest.mark.parametrize("card", [SMALL, FULL], ids=["small", "full"])


def test_the_small_card_is_small() -> None:
    assert 18 <= len(SMALL.hands) <= 22
    assert 4 <= len(SMALL.families) <= 5
    assert 150 <= SMALL.target_count <= 300


def test_the_full_card_is_full() -> None:
    assert 55 <= len(FULL.hands) <= 65
    assert len(FULL.families) >= 8
    assert 700 <= FULL.target_count <= 1_500
    assert sum(hand.concealed for hand in FULL.hands) >= 6


@BOTH
@pytest.mark.parametrize("trait", [Trait.PAIRS_ONLY, Trait.BIG_GROUPS])
def test_both_have_hands_of_these_traits(card: Card, trait: Trait) -> None:
    assert any(trait in hand.traits for hand in card.hands)


@pytest.mark.parametrize("trait", list(Trait))
def test_the_full_card_has_a_hand_of_every_trait(trait: Trait) -> None:
    assert any(trait in hand.traits for hand in FULL.hands)


@BOTH
def test_families_are_not_lopsided(card: Card) -> None:
    for family in card.families:
        hands = [hand for hand in card.hands if hand.family == family]
        assert 4 <= len(hands) <= 8
        assert 0.03 <= sum(len(hand.targets) for hand in hands) / card.target_count <= 0.30


@BOTH
def test_hands_of_a_family_stand_together(card: Card) -> None:
    order = [hand.family for hand in card.hands]
    assert order == sorted(order, key=card.families.index)


@BOTH
def test_no_two_hands_share_a_target(card: Card) -> None:
    needs = [target.needs for hand in card.hands for target in hand.targets]
    assert len(set(needs)) == len(needs)
    assert not [remark for remark in remarks_of(card) if "same targets" in remark.detail]


def test_the_small_card_names_no_suit_and_no_dragon() -> None:
    words = {word for hand in SMALL.hands for text in hand.notation for word in re.findall("[a-z]+", text)}
    assert words & {"bam", "crak", "dot", "green", "red", "white"} == set()


@pytest.mark.parametrize("order", list(permutations(Suit)))
def test_exchanging_suits_leaves_every_hand_of_the_small_card(order: tuple[Suit, ...]) -> None:
    new = dict(zip(Suit, order, strict=True))
    moved: dict[Tile, Tile] = {DRAGON_OF[suit]: DRAGON_OF[new[suit]] for suit in Suit}
    moved |= {numbered(rank, suit): numbered(rank, new[suit]) for rank in range(1, 10) for suit in Suit}
    for hand in SMALL.hands:
        needs = {frozenset(target.needs) for target in hand.targets}
        assert {frozenset((moved.get(tile, tile), p, g) for tile, p, g in need) for need in needs} == needs


@BOTH
def test_the_file_says_it_is_invented(card: Card) -> None:
    name = "small" if card is SMALL else "full"
    text = resources.files("patterns").joinpath("cards", f"{name}.toml").read_text(encoding="utf-8")
    assert "invented for threepass" in text.splitlines()[0]
