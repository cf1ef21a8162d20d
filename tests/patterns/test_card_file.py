"""Cards as written. Shapes by one rule: two ranks five apart, filled up with flowers."""

import math
import tomllib
from importlib import resources
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from patterns.card import Card
from patterns.card_file import (
    MAX_ALTERNATIVES,
    MAX_HANDS,
    MAX_TARGETS,
    card_from_toml,
    read_draft,
    read_toml,
    shipped_card,
    shipped_names,
    toml_of,
)
from patterns.faults import Fault, FaultyInputError

GOOD = "2p*4 7p*4 flower*6"
# 6 orders of suits * 4 ranks * 12 orders of two winds * 3 dragons = 864: the seventh such hand passes 6,000.
WIDE = "np*4 (n+5)q*3 nr*2 wind1*2 wind2*1 dragon*2"


def hand(name: str = "a", groups: object = GOOD, **more: object) -> dict[str, object]:
    return {"name": name, "family": "b", "groups": groups, **more}


def card(*hands: object) -> dict[str, object]:
    return {"card": {"name": "c"}, "hand": list(hands)}


def made(written: object) -> Card:
    return read_draft(written).card()


def faults_of(written: object) -> tuple[Fault, ...]:
    with pytest.raises(FaultyInputError) as caught:
        made(written)
    return caught.value.faults


def test_a_whole_card() -> None:
    written = {
        "card": {"name": "Two Lines", "schema_version": 1},
        "hand": [
            hand("first", "np*4 (n+5)q*4 flower*6", where="n odd and n in 1..3", weight=2, concealed=True),
            hand("second", ["2p*5 7p*5 flower*4", "2p*5 7q*5 flower*4"]),
            {**hand("third"), "family": "z"},
        ],
    }
    read = made(written)
    first, second, _ = read.hands
    assert (first.name, first.family, first.where) == ("first", "b", "n odd and n in 1..3")
    assert (first.concealed, first.weight, first.notation) == (True, 2.0, ("np*4 (n+5)q*4 flower*6",))
    # n is 1 or 3; ordered pairs of suits 6. In one suit 3, in two (2 and 7 apart) 6. In one suit 3.
    assert [len(each.targets) for each in read.hands] == [12, 9, 3]
    assert (second.concealed, second.weight, second.where) == (False, 1.0, None)
    assert second.notation == ("2p*5 7p*5 flower*4", "2p*5 7q*5 flower*4")
    assert (read.families, read.target_count) == (("b", "z"), 24)


@pytest.mark.parametrize(
    ("written", "place", "kind"),
    [
        ([], (), "model-type"),
        ({"card": {"name": "c"}}, ("hand",), "missing"),
        ({"card": {"name": "c"}, "hand": hand()}, ("hand",), "list-type"),
        ({**card(hand()), "hands": []}, ("hands",), "extra-forbidden"),
        (
            {**card(hand()), "card": {"name": "c", "schema_version": 2}},
            ("card", "schema_version"),
            "less-than-equal",
        ),
        (card(hand(), {"name": "x", "groups": GOOD}), ("hand", 1, "family"), "missing"),
        (card(hand(), hand("x", where=3)), ("hand", 1, "where"), "string-type"),
        (card(hand(name="x" * 61)), ("hand", 0, "name"), "string-too-long"),
        (card(hand(name="two\nlines")), ("hand", 0, "name"), "string-pattern-mismatch"),
        (card(hand(points=25)), ("hand", 0, "points"), "extra-forbidden"),
        (card(hand(concealed=1)), ("hand", 0, "concealed"), "bool-type"),
        (card(hand(weight=math.nan)), ("hand", 0, "weight"), "finite-number"),
        (card(hand(groups="2p*4 " * 81)), ("hand", 0, "groups"), "string-too-long"),
        (card(hand(where="n odd    " * 45)), ("hand", 0, "where"), "string-too-long"),
        (card(hand(groups=[])), ("hand", 0, "groups"), "too-short"),
        (card(hand(groups=[[[GOOD]]])), ("hand", 0, "groups", 0), "string-type"),
        (card(hand(groups=[GOOD] * (MAX_ALTERNATIVES + 1))), ("hand", 0, "groups"), "too-long"),
        (card(*(hand(str(index)) for index in range(10_000))), ("hand",), "too-long"),
    ],
)
def test_a_wrong_shape_is_named_with_its_place(written: object, place: tuple[object, ...], kind: str) -> None:
    (fault,) = faults_of(written)
    assert (fault.place, fault.kind) == (place, kind)
    assert fault.detail[:1].islower()


def test_every_fault_of_shape_at_once_without_an_echo_of_the_input() -> None:
    sesame = "sesame"
    faults = faults_of(
        {"card": {"name": 3}, "hand": [hand(weight=sesame), 5, hand("z", [GOOD, 1], extra=1, where=[sesame])]}
    )
    assert [fault.place for fault in faults] == [
        ("card", "name"),
        ("hand", 0, "weight"),
        ("hand", 1),
        ("hand", 2, "groups", 1),
        ("hand", 2, "where"),
        ("hand", 2, "extra"),
    ]
    assert all(sesame not in fault.detail for fault in faults)


def test_every_faulty_hand_at_once_and_every_alternative() -> None:
    faults = faults_of(
        card(
            hand("1", "2p*4 7p*4 flower*5"),
            hand("2"),
            hand("3", ["2p*4 7x*4 7p*", "2p*4 flower*4", GOOD]),
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
    assert (faults[0].kind, faults[0].detail) == ("same-name", "hand 2 has the same name")
    assert faults[1].detail == "hand '1': 13 tiles: a hand has 14"


def test_the_most_that_is_allowed() -> None:
    # All twelve alternatives say the same three targets.
    most = [hand(str(index), [GOOD] * MAX_ALTERNATIVES) for index in range(MAX_HANDS)]
    assert made(card(*most)).target_count == 3 * MAX_HANDS


def test_too_many_targets_stops_where_it_happens() -> None:
    assert made(card(hand("0", WIDE))).target_count == 864
    (fault,) = faults_of(card(*(hand(str(index), WIDE) for index in range(9))))
    assert (fault.place, fault.kind) == (("hand", 6), "too-many-targets")
    assert f"more than {MAX_TARGETS} targets" in fault.detail


HEAD = '[card]\nname = "c"\n'
GOOD_HAND = f'[[hand]]\nname = "good"\nfamily = "f"\ngroups = "{GOOD}"\n'
X = 'name = "x"\nfamily = "f"\n'
GROUPS = f'groups = "{GOOD}"\n'


def details_of(text: str) -> list[str]:
    with pytest.raises(FaultyInputError) as caught:
        card_from_toml(text, "my.toml")
    return [fault.detail for fault in caught.value.faults]


def test_a_card_is_read_from_toml_also_with_windows_line_ends() -> None:
    read = card_from_toml((HEAD + GOOD_HAND).replace("good", "Grüße 門").replace("\n", "\r\n"), "my.toml")
    assert (read.name, [hand.name for hand in read.hands]) == ("c", ["Grüße 門"])
    assert read.hands[0].notation == (GOOD,)


@pytest.mark.parametrize(
    ("hand", "start"),
    [
        (X + GROUPS.replace("*6", "*5"), "line 11, groups: hand 'x': 13 tiles"),
        (X + "\n" + GROUPS.replace("7p", "7x"), "line 12, groups: hand 'x': column 7: "),
        (f'groups = [\n"{GOOD}",\n"2p*4"]\n' + X, "line 9, groups, alternative 2: hand 'x': 4 tiles"),
        (X.replace("x", "good") + GROUPS, "line 9, name: hand 1 has the same name"),
        (X + GROUPS + 'where = "n odd"', "line 12, where: hand 'x': there is a condition on n"),
        (X + 'groups = ["2p*4", 5]', "line 11, groups, alternative 2: input should be a valid string"),
        ('name = "x"\n' + GROUPS, "line 8, family: field required"),
    ],
)
def test_a_fault_has_the_line_of_its_key(hand: str, start: str) -> None:
    # The head takes lines 1-2, the good hand 3-6, a comment 7, and [[hand]] is line 8.
    (detail,) = details_of(f"{HEAD}{GOOD_HAND}# [[hand]] in a comment is none\n[[hand]]\n{hand}\n")
    assert detail.startswith(f"my.toml, {start}")


def test_every_fault_with_its_line_also_after_a_line_separator_in_a_name() -> None:
    bad = GOOD_HAND.replace("flower*6", "flower*5")
    head = HEAD.replace('"c"', '"a\u2028b"')
    details = details_of(head + bad + bad.replace("good", "x") + GOOD_HAND.replace("good", "y"))
    assert [detail.split(", groups")[0] for detail in details] == ["my.toml, line 6", "my.toml, line 10"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[card\nname = 1", "line 1"),
        (HEAD + 'name = "again"\n', "line 3"),
        (HEAD + GOOD_HAND + 'groups = "unclosed\n', "line 7"),
        ("a = 2026-13-45", "line 1"),
        ("a = " + "9" * 5_000, "my.toml: "),
        ("a = " + "[" * 5_000 + "]" * 5_000, "my.toml: "),
        ("a." * 9 + "b = 1", "a key of more than eight parts"),
        ("\0", "line 1"),
    ],
)
def test_text_that_is_not_toml_is_refused_with_its_line(text: str, said: str) -> None:
    (detail,) = details_of(text)
    assert detail.startswith("my.toml")
    assert said in detail


@pytest.mark.parametrize("name", ["none", "../cards/small"])
def test_an_unknown_shipped_card(name: str) -> None:
    with pytest.raises(KeyError, match=name):
        shipped_card(name)
    assert shipped_names() == ("full", "small")


def test_a_part_that_is_not_toml_hides_no_fault_of_another_and_lines_are_those_of_the_file() -> None:
    text = f"""[card]
name = "c"
[[hand]]
name = "first
[[hand]]
name = "second"
family = "b"
groups = "2p*4"
[[hand]]
name = "third"
family = "b"
groups = "{GOOD}"
"""
    written, draft = read_toml(text, "my.toml")
    syntax, wrong = (fault.detail for fault in draft.faults)
    assert syntax.startswith("my.toml: ") and "line 4" in syntax
    assert wrong.startswith("my.toml, line 8, groups: hand 'second'")
    assert written is None
    assert [each and each.name for each in draft.hands] == [None, None, "third"]


_texts = st.text(st.characters(codec="utf-8"), max_size=12)
_values = st.recursive(
    st.booleans() | st.integers(-99, 99) | st.floats(allow_nan=False, allow_infinity=False) | _texts,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_texts, inner, max_size=3),
    max_leaves=8,
)


# How fast a busy machine makes up cards is no matter of this test.
@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.dictionaries(_texts, _values, max_size=4))
def test_whatever_stands_in_a_card_is_the_same_after_it_was_written_as_toml(written: dict[str, Any]) -> None:
    assert tomllib.loads(toml_of(written)) == written


@pytest.mark.parametrize("name", shipped_names())
def test_a_practice_card_is_the_same_after_it_was_written_out_and_back(name: str) -> None:
    text = resources.files("patterns").joinpath("cards", f"{name}.toml").read_text(encoding="utf-8")
    written, _ = read_toml(text, name)
    assert written is not None
    assert read_toml(toml_of(written), name)[0] == written
