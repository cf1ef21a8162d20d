"""Targets, traits and remarks. Shapes by one rule: the square ranks 1, 4 and 9, filled up with winds."""

import pytest

from patterns.card import Card, Hand, Remark, Trait, remarks_of
from patterns.card_file import read_draft
from patterns.expand import expand
from patterns.notation import parse_groups, parse_where
from patterns.tiles import Tile


def hand_of(groups: str, where: str | None = None, *, concealed: bool = False) -> Hand:
    targets = expand(parse_groups(groups), None if where is None else parse_where(where))
    return Hand("a", "b", (groups,), where, concealed, 1.0, tuple(targets))


def card_of(*hands: tuple[str, object, bool]) -> Card:
    forms = [
        {"name": name, "family": "f", "groups": groups, "concealed": concealed}
        for name, groups, concealed in hands
    ]
    return read_draft({"card": {"name": "c"}, "hand": forms}).card()


def test_needs_part_singles_and_pairs_from_larger_groups() -> None:
    (target,) = hand_of("4bam*2 4bam*1 4bam*3 flower*5 north*2 east*1").targets
    assert target.needs == ((Tile.B4, 3, 3), (Tile.NORTH, 2, 0), (Tile.EAST, 1, 0), (Tile.FLOWER, 0, 5))
    assert [group.takes_jokers for group in target.groups] == [False, False, True, True, False, False]
    assert target.jokers_needed == 2


ONE, TWO, THREE = Trait.ONE_SUIT, Trait.TWO_SUITS, Trait.THREE_SUITS
PLAIN, NATURAL = Trait.NO_FLOWERS, Trait.NO_JOKER_NEEDED


@pytest.mark.parametrize(
    ("groups", "where", "traits"),
    [
        ("1p*4 4p*4 9p*3 flower*3", None, {ONE, NATURAL}),
        ("1p*4 4q*4 9p*3 wind*3", None, {TWO, PLAIN, NATURAL}),
        # A dragon is of no suit, whichever suit it goes with.
        ("1p*4 4q*4 9q*3 dragon(r)*3", None, {TWO, PLAIN, NATURAL}),
        ("1p*4 4q*4 9r*3 flower*3", None, {THREE, NATURAL}),
        # p may be bams or not: one suit in some targets, two in the others.
        ("1bam*4 4p*4 flower*4 north*2", None, {NATURAL, Trait.NARROW}),
        ("1p*2 4p*2 9p*2 1q*2 4q*2 9q*2 flower*2", None, {TWO, NATURAL, Trait.PAIRS_ONLY}),
        ("1p*1 4p*1 9p*2 1q*2 4q*2 9q*2 wind*2 east*2", None, {TWO, PLAIN, NATURAL, Trait.PAIRS_ONLY}),
        ("1p*2 4p*2 9p*2 1q*2 4q*3 flower*3", None, {TWO, NATURAL}),
        # Five of a number cannot be naturals; five flowers can.
        ("1p*5 9q*4 flower*5", None, {TWO, Trait.BIG_GROUPS}),
        ("1p*4 9q*4 flower*6", None, {TWO, NATURAL, Trait.BIG_GROUPS}),
        # Two groups of one tile: no big group, and jokers all the same.
        ("4p*3 4p*3 9q*4 north*4", None, {TWO, PLAIN}),
        ("wind1*4 wind2*3 dragon*4 flower*3", None, {NATURAL, Trait.WINDS_DRAGONS_ONLY}),
        ("wind1*5 wind2*3 dragon*6", None, {PLAIN, Trait.BIG_GROUPS, Trait.WINDS_DRAGONS_ONLY}),
        # The ranks used, from the lowest to the highest, are four or fewer.
        ("1p*4 4p*4 north*3 flower*3", None, {ONE, NATURAL, Trait.NARROW}),
        ("4p*4 9p*4 north*3 flower*3", None, {ONE, NATURAL}),
        ("np*4 (n+3)q*4 north*3 flower*3", None, {TWO, NATURAL, Trait.NARROW}),
        ("np*4 (n+4)q*4 north*3 flower*3", None, {TWO, NATURAL}),
        ("4p*4 nq*4 north*3 flower*3", "n in 2..7", {TWO, NATURAL, Trait.NARROW}),
        ("4p*4 nq*4 north*3 flower*3", "n in 2..8", {TWO, NATURAL}),
    ],
)
def test_traits_are_those_that_every_target_has(groups: str, where: str | None, traits: set[Trait]) -> None:
    assert hand_of(groups, where).traits == traits
    assert hand_of(groups, where, concealed=True).traits == traits | {Trait.CONCEALED}


def test_a_plain_card_has_no_remarks() -> None:
    card = card_of(("a", "1p*4 4p*4 9p*3 flower*3", False), ("b", "1p*4 4p*4 9q*3 flower*3", False))
    assert remarks_of(card) == []


def test_hands_with_the_same_targets_are_named() -> None:
    card = card_of(
        ("a", "np*4 (n+3)q*4 flower*6", False),
        ("b", "4p*4 9p*4 flower*6", False),
        ("c", "nq*4 (n+3)p*4 flower*6", False),
        ("d", ["flower*6 np*4 (n+3)r*4", "flower*6 1p*4 4q*4"], False),
    )
    assert remarks_of(card) == [
        Remark(2, "'c' has the same targets as 'a'"),
        Remark(3, "'d' has the same targets as 'a'"),
    ]


def test_a_concealed_hand_is_another_hand() -> None:
    groups = "1p*4 4p*4 9p*3 flower*3"
    card = card_of(("a", groups, False), ("b", groups, True), ("c", groups, True))
    assert remarks_of(card) == [Remark(2, "'c' has the same targets as 'b'")]


def test_hands_that_need_jokers_say_so() -> None:
    card = card_of(
        ("big", "4p*5 9p*5 flower*4", False),
        # p may be bams: 3 targets, and in that one eight 4 bams are wanted.
        ("perhaps", "4bam*4 4p*4 flower*6", False),
        ("flowers", "flower*6 4p*4 9p*4", False),
    )
    assert remarks_of(card) == [
        Remark(0, "'big': every target cannot be made without jokers"),
        Remark(1, "'perhaps': 1 of 3 targets cannot be made without jokers"),
    ]


def test_ids_name_what_is_asked_for_and_stay() -> None:
    square = ("a", "1p*4 4p*4 9p*3 flower*3", False)
    card = card_of(square)
    # Written down here: programs keep them for years.
    assert (card.id, card.hands[0].id) == ("60d6e80015eca0f9", "e45b3ca596c8ce6f")
    named = ("b", *square[1:])
    assert card_of(("a", square[1].replace(" ", "   "), False)).id == card.id
    assert card_of(named).hands[0].id == card.hands[0].id
    assert card_of(named).id != card.id
    assert card_of((*square[:2], True)).hands[0].id != card.hands[0].id
    assert card_of(square, named).id != card.id
