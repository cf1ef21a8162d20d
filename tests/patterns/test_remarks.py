from patterns.card import Card, Remark, overlaps, remarks_of
from patterns.card_file import build_card, read_form


def card_of(*hands: tuple[str, object, bool]) -> Card:
    forms = [
        {"name": name, "family": "f", "groups": groups, "concealed": concealed}
        for name, groups, concealed in hands
    ]
    return build_card(read_form({"card": {"name": "c"}, "hand": forms}))


def test_a_plain_card_has_no_remarks() -> None:
    card = card_of(("a", "5p*4 6p*4 7p*4 flower*2", False), ("b", "5p*4 6p*4 8p*4 flower*2", False))
    assert remarks_of(card) == []
    assert overlaps(card) == {}


def test_hands_with_the_same_targets_are_named() -> None:
    card = card_of(
        ("a", "np*4 (n+1)q*4 flower*6", False),
        ("b", "5p*4 7p*4 flower*6", False),
        ("c", "nq*4 (n+1)p*4 flower*6", False),
        ("d", ["flower*6 np*4 (n+1)r*4", "flower*6 4p*4 5q*4"], False),
    )
    assert remarks_of(card) == [
        Remark(2, "'c' has the same targets as 'a'"),
        Remark(3, "'d' has the same targets as 'a'"),
    ]


def test_a_concealed_hand_is_another_hand() -> None:
    groups = "5p*4 6p*4 7p*4 flower*2"
    card = card_of(("a", groups, False), ("b", groups, True), ("c", groups, True))
    assert remarks_of(card) == [Remark(2, "'c' has the same targets as 'b'")]
    assert overlaps(card) == {(0, 1): 3, (0, 2): 3, (1, 2): 3}


def test_hands_that_need_jokers_say_so() -> None:
    card = card_of(
        ("fives", "5p*5 7p*5 flower*4", False),
        # p may be bams: 3 targets, and in that one eight 5 bam are wanted.
        ("perhaps", "5bam*4 5p*4 flower*6", False),
        ("flowers", "flower*6 5p*4 7p*4", False),
    )
    assert remarks_of(card) == [
        Remark(0, "'fives': every target cannot be made without jokers"),
        Remark(1, "'perhaps': 1 of 3 targets cannot be made without jokers"),
    ]


def test_overlaps_count_shared_targets() -> None:
    card = card_of(
        # n is 1-8, 6 ordered pairs of suits: 48.
        ("a", "np*4 (n+1)q*4 flower*6", False),
        # The 6 with n = 4.
        ("b", "4p*4 5q*4 flower*6", False),
        # Those 6, and 6 with n = 1.
        ("c", ["5q*4 4p*4 flower*6", "1p*4 2q*4 flower*6"], False),
    )
    assert overlaps(card) == {(0, 1): 6, (0, 2): 12, (1, 2): 6}
