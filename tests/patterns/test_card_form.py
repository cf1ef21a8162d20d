import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.card import Card
from patterns.card_file import MAX_ALTERNATIVES, MAX_HANDS, MAX_TARGETS, build_card, read_form
from patterns.faults import Fault, FaultyInputError

GOOD = "5p*4 6p*4 flower*6"


def hand(name: str = "a", groups: object = GOOD, **more: object) -> dict[str, object]:
    return {"name": name, "family": "b", "groups": groups, **more}


def card(*hands: object) -> dict[str, object]:
    return {"card": {"name": "c"}, "hand": list(hands)}


def made(written: object) -> Card:
    return build_card(read_form(written))


def faults_of(written: object) -> tuple[Fault, ...]:
    with pytest.raises(FaultyInputError) as caught:
        made(written)
    return caught.value.faults


def test_a_whole_card() -> None:
    written = {
        "card": {"name": "Two Lines", "schema_version": 1},
        "hand": [
            hand("first", "np*4 (n+1)q*4 flower*6", where="n odd and n in 1..7", weight=2, concealed=True),
            hand("second", ["5p*5 7p*5 flower*4", "5p*5 7q*5 flower*4"]),
        ],
    }
    first, second = made(written).hands
    assert (first.name, first.family, first.where) == ("first", "b", "n odd and n in 1..7")
    assert (first.concealed, first.weight, first.notation) == (True, 2.0, ("np*4 (n+1)q*4 flower*6",))
    # n is 1, 3, 5 or 7; ordered pairs of suits 6. And in one suit 3, in two (5 and 7 apart) 6.
    assert [len(first.targets), len(second.targets)] == [24, 9]
    assert (second.concealed, second.weight, second.where) == (False, 1.0, None)
    assert second.notation == ("5p*5 7p*5 flower*4", "5p*5 7q*5 flower*4")


def test_families_and_targets_of_a_card() -> None:
    read = made(card(hand("1"), {**hand("2"), "family": "z"}, {**hand("3"), "family": "b"}))
    assert read.families == ("b", "z")
    assert read.target_count == 9


@pytest.mark.parametrize(
    ("written", "place", "kind"),
    [
        ([], (), "model-type"),
        (None, (), "model-type"),
        ("card", (), "model-type"),
        ({"card": {"name": "c"}}, ("hand",), "missing"),
        ({"hand": [hand()]}, ("card",), "missing"),
        (card(), ("hand",), "too-short"),
        ({"card": {"name": "c"}, "hand": hand()}, ("hand",), "list-type"),
        ({**card(hand()), "hands": []}, ("hands",), "extra-forbidden"),
        ({**card(hand()), "card": {}}, ("card", "name"), "missing"),
        ({**card(hand()), "card": {"name": ""}}, ("card", "name"), "string-too-short"),
        (
            {**card(hand()), "card": {"name": "c", "schema_version": 2}},
            ("card", "schema_version"),
            "less-than-equal",
        ),
        (
            {**card(hand()), "card": {"name": "c", "schema_version": "1"}},
            ("card", "schema_version"),
            "int-type",
        ),
        (card("a"), ("hand", 0), "model-type"),
        (card(hand(), {"name": "x", "groups": GOOD}), ("hand", 1, "family"), "missing"),
        (card(hand(), hand("x", where=3)), ("hand", 1, "where"), "string-type"),
        (card(hand(name="x" * 61)), ("hand", 0, "name"), "string-too-long"),
        (card(hand(name="two\nlines")), ("hand", 0, "name"), "string-pattern-mismatch"),
        (card(hand(points=25)), ("hand", 0, "points"), "extra-forbidden"),
        (card(hand(alternatives=[GOOD])), ("hand", 0, "alternatives"), "extra-forbidden"),
        (card(hand(concealed="yes")), ("hand", 0, "concealed"), "bool-type"),
        (card(hand(concealed=1)), ("hand", 0, "concealed"), "bool-type"),
        (card(hand(weight="2")), ("hand", 0, "weight"), "float-type"),
        (card(hand(weight=True)), ("hand", 0, "weight"), "float-type"),
        (card(hand(weight=-0.5)), ("hand", 0, "weight"), "greater-than-equal"),
        (card(hand(weight=1001)), ("hand", 0, "weight"), "less-than-equal"),
        (card(hand(weight=math.nan)), ("hand", 0, "weight"), "finite-number"),
        (card(hand(weight=math.inf)), ("hand", 0, "weight"), "finite-number"),
        (card(hand(weight=-math.inf)), ("hand", 0, "weight"), "finite-number"),
        (card(hand(groups=7)), ("hand", 0, "groups"), "string-type"),
        (card(hand(groups=None)), ("hand", 0, "groups"), "string-type"),
        (card(hand(groups="")), ("hand", 0, "groups"), "string-too-short"),
        (card(hand(groups="5p*4 " * 81)), ("hand", 0, "groups"), "string-too-long"),
        (card(hand(groups=[])), ("hand", 0, "groups"), "too-short"),
        (card(hand(groups=[GOOD, 7])), ("hand", 0, "groups", 1), "string-type"),
        (card(hand(groups=[GOOD] * (MAX_ALTERNATIVES + 1))), ("hand", 0, "groups"), "too-long"),
    ],
)
def test_a_wrong_shape_is_named_with_its_place(written: object, place: tuple[object, ...], kind: str) -> None:
    (fault,) = faults_of(written)
    assert (fault.place, fault.kind) == (place, kind)
    assert fault.detail[:1].islower()


def test_every_fault_of_shape_at_once() -> None:
    faults = faults_of({"card": {"name": 3}, "hand": [hand(weight="x"), 5, hand("z", [GOOD, 1], extra=1)]})
    assert [fault.place for fault in faults] == [
        ("card", "name"),
        ("hand", 0, "weight"),
        ("hand", 1),
        ("hand", 2, "groups", 1),
        ("hand", 2, "extra"),
    ]


def test_the_input_is_not_echoed() -> None:
    assert all(
        "sesame" not in fault.detail for fault in faults_of(card(hand(weight="sesame", where=["sesame"])))
    )


@pytest.mark.parametrize(
    ("bad", "place", "said"),
    [
        (hand("x", "5p*4 6p*4 flower*5"), ("groups",), "13 tiles: a hand has 14"),
        (hand("x", "5p*4 6p*4 joker*2 flower*4"), ("groups",), "column 11: in 'joker*2'"),
        (hand("x", "5p*4 6p*4 flowr*6"), ("groups",), "column 11: in 'flowr*6'"),
        (hand("x", [GOOD, "5p*4 6p*4 flower*5"]), ("groups", 1), "13 tiles"),
        (hand("x", where="n odd"), ("where",), "no n in the groups"),
        (hand("x", "np*4 nq*4 flower*6", where="n prime"), ("where",), "column 3"),
        (hand("x", "np*4 (n+3)q*4 flower*6", where="n in 5..7"), ("where",), "n = 7 makes rank 10"),
        (hand("x", "5bam*2 5bam*1 5bam*2 flower*6 north*3"), ("groups",), "no target can be made"),
        (hand("x", "wind*4 wind2*4 flower*6"), ("groups",), "'wind' beside 'wind2'"),
    ],
)
def test_a_faulty_hand_is_named_with_its_place(bad: object, place: tuple[object, ...], said: str) -> None:
    (fault,) = faults_of(card(hand("good"), bad))
    assert fault.place == ("hand", 1, *place)
    assert fault.detail.startswith("hand 'x': ")
    assert said in fault.detail


def test_every_faulty_hand_at_once_and_every_alternative() -> None:
    faults = faults_of(
        card(
            hand("1", "5p*4 6p*4 flower*5"),
            hand("2"),
            hand("3", ["5p*4 6x*4 7p*", "5p*4 flower*4", GOOD]),
            hand("2"),
            hand("4", "np*4 flower*4", where="n odder"),
        )
    )
    assert [fault.place for fault in faults] == [
        ("hand", 3, "name"),
        ("hand", 0, "groups"),
        ("hand", 2, "groups", 0),
        ("hand", 2, "groups", 0),
        ("hand", 2, "groups", 1),
        ("hand", 4, "where"),
        ("hand", 4, "groups"),
    ]


def test_a_fault_of_the_condition_is_said_once_for_all_alternatives() -> None:
    faults = faults_of(
        card(hand("x", ["np*4 (n+4)p*4 flower*6", "np*4 (n+4)q*4 flower*6"], where="n in 5..6"))
    )
    assert [fault.place for fault in faults] == [("hand", 0, "where")]


def test_same_names_are_refused_and_the_first_is_pointed_at() -> None:
    faults = faults_of(card(hand("x"), hand("y"), hand("x"), hand("x")))
    assert [fault.place for fault in faults] == [("hand", 2, "name"), ("hand", 3, "name")]
    assert {fault.kind for fault in faults} == {"same-name"}
    assert {fault.detail for fault in faults} == {"hand 1 has the same name"}


def test_ten_thousand_hands_are_refused_in_one_fault() -> None:
    (fault,) = faults_of(card(*(hand(str(index)) for index in range(10_000))))
    assert (fault.place, fault.kind) == (("hand",), "too-long")
    assert str(MAX_HANDS) in fault.detail


def test_the_most_hands_allowed() -> None:
    assert len(made(card(*(hand(str(index)) for index in range(MAX_HANDS)))).hands) == MAX_HANDS


def test_deep_alternatives_are_refused() -> None:
    deep: Any = GOOD
    for _ in range(500):
        deep = [deep]
    (fault,) = faults_of(card(hand(groups=deep)))
    assert (fault.place, fault.kind) == (("hand", 0, "groups", 0), "string-type")


def test_the_most_alternatives_allowed_and_merged() -> None:
    # All twelve say the same three targets.
    assert made(card(hand(groups=[GOOD] * MAX_ALTERNATIVES))).target_count == 3


def test_too_many_targets_stops_where_it_happens() -> None:
    # 6 orders of suits * 9 ranks * 12 orders of two winds * 3 dragons = 1,944: the fourth passes 6,000.
    wide = "np*4 nq*3 nr*2 wind1*2 wind2*1 dragon*2"
    assert made(card(hand("0", wide))).target_count == 1_944
    (fault,) = faults_of(card(*(hand(str(index), wide) for index in range(5))))
    assert (fault.place, fault.kind) == (("hand", 3), "too-many-targets")
    assert f"more than {MAX_TARGETS} targets" in fault.detail


JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=8,
)


@settings(deadline=None)
@given(
    st.sampled_from(
        [
            lambda junk: junk,
            lambda junk: {"card": junk, "hand": [hand()]},
            lambda junk: {"card": {"name": "c"}, "hand": junk},
            lambda junk: card(junk),
            lambda junk: card(hand(groups=junk)),
            lambda junk: card(hand(groups="np*4 nq*4 flower*6", where=junk)),
            lambda junk: card(hand(weight=junk)),
        ]
    ),
    JUNK,
)
def test_junk_is_read_or_refused(around: Callable[[object], object], junk: object) -> None:
    try:
        assert made(around(junk)).target_count > 0
    except FaultyInputError as error:
        assert error.faults
