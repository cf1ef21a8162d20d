import pytest

from patterns.card import Trait
from patterns.faults import FaultyInputError
from solver.limits import AtLeast, Choice, Limits, hand_weights
from tests.solver.racks import card

CARD = card("small")
NAMES = [hand.name for hand in CARD.hands]


def weight_of(limits: Limits) -> dict[str, float]:
    return dict(zip(NAMES, hand_weights(CARD, limits).tolist(), strict=True))


def test_no_limits_leave_the_weights_of_the_card() -> None:
    assert weight_of(Limits()) == {hand.name: hand.weight for hand in CARD.hands}


def test_only_families_hands_and_traits_add_up() -> None:
    only = Choice(families=("ladders",), hands=("Two Oaks",), traits=(Trait.PAIRS_ONLY,))
    expected = {
        hand.name: float(
            hand.family == "ladders" or hand.name == "Two Oaks" or Trait.PAIRS_ONLY in hand.traits
        )
        for hand in CARD.hands
    }
    assert weight_of(Limits(only=only)) == expected
    assert 5 < sum(expected.values()) < 20


def test_without_takes_away_also_from_only() -> None:
    limits = Limits(only=Choice(families=("ladders",)), without=Choice(hands=("Fruit Ladder",)))
    assert {name for name, weight in weight_of(limits).items() if weight} == {
        hand.name for hand in CARD.hands if hand.family == "ladders"
    } - {"Fruit Ladder"}


def test_weights_by_name_replace_those_of_the_card_but_bring_nothing_back() -> None:
    limits = Limits(without=Choice(hands=("Two Oaks",)), weights=(("Two Oaks", 5.0), ("Long Border", 2.5)))
    weights = weight_of(limits)
    assert weights["Two Oaks"] == 0
    assert weights["Long Border"] == 2.5
    assert set(weights.values()) == {0.0, 1.0, 2.5}


def test_every_unknown_name_is_a_fault_in_its_place() -> None:
    limits = Limits(
        only=Choice(families=("ladders", "castles"), hands=("Two Oaks", "Nowhere")),
        without=Choice(hands=("Nobody",)),
        weights=(("Nothing", 1.0),),
    )
    with pytest.raises(FaultyInputError) as caught:
        hand_weights(CARD, limits)
    assert [(fault.kind, fault.place, fault.detail) for fault in caught.value.faults] == [
        ("unknown-name", ("only", "families", 1), "the card has no 'castles' among its families"),
        ("unknown-name", ("only", "hands", 1), "the card has no 'Nowhere' among its hands"),
        ("unknown-name", ("without", "hands", 0), "the card has no 'Nobody' among its hands"),
        ("unknown-name", ("weights", "Nothing"), "the card has no 'Nothing' among its hands"),
    ]


@pytest.mark.parametrize(
    "limits",
    [
        Limits(without=Choice(families=CARD.families)),
        Limits(only=Choice(hands=("Two Oaks",)), without=Choice(families=("giants",))),
        Limits(weights=tuple((name, 0.0) for name in NAMES)),
    ],
)
def test_some_hand_must_count(limits: Limits) -> None:
    with pytest.raises(FaultyInputError) as caught:
        hand_weights(CARD, limits)
    assert [fault.kind for fault in caught.value.faults] == ["no-hand-left"]


def test_a_choice_of_nothing_is_no_choice() -> None:
    assert not Choice()
    assert Choice(traits=(Trait.BIG_GROUPS,))
    assert not any(Choice().has(hand) for hand in CARD.hands)


def test_enough_forgives_rounding_only() -> None:
    wanted = AtLeast(1, 0.3)
    assert wanted.enough <= 0.1 + 0.2
    assert wanted.enough <= 0.3 * (1 - 1e-15)
    assert wanted.enough > 0.3 * (1 - 1e-9)
