from pathlib import Path
from typing import Any

import click
import pytest

from clients.cli.question import ROUNDS, at_least, filled, number, question_of, round_name, weight


@pytest.mark.parametrize("name", ROUNDS)
def test_rounds_take_either_dash(name: str) -> None:
    assert round_name(name) == round_name(name.replace("_", "-")) == round_name(name.upper()) == name


@pytest.mark.parametrize(
    ("read", "written"),
    [
        (round_name, "third_right"),
        (number, "many"),
        (number, "nan"),
        (number, "inf"),
        (weight, "Half Moon"),
        (weight, "=2"),
        (weight, "Half Moon=much"),
        (at_least, "3"),
        (at_least, "3:"),
        (at_least, ":0.5"),
        (at_least, "-1:0.5"),
        (at_least, "٣:0.5"),
        (at_least, "3:half"),
    ],
)
def test_what_cannot_be_read_is_wrong_usage(read: Any, written: str) -> None:
    with pytest.raises(click.BadParameter, match=r"is not|is none of"):
        read(written)


def test_weights_and_counts() -> None:
    assert weight("Half Moon=2.5") == ("Half Moon", 2.5)
    assert weight("a=b=0") == ("a=b", 0.0)
    assert at_least("3:0.05") == {"count": 3, "reach": 0.05}
    assert at_least("3:5%") == {"count": 3, "reach": 0.05}


def test_only_what_was_said_is_asked(card_file: Path) -> None:
    assert question_of({"round": None, "give": None, "no_pairs": False, "only_family": ()}) == {}
    said: dict[str, Any] = {
        "round": "courtesy",
        "card": str(card_file),
        "give": 0,
        "seen": "",
        "charleston": 3,
        "draws": 0,
        "claims": 1,
        "stay": "F",
        "no_flowers": True,
        "keep_hands": {"count": 2, "reach": 0.1},
        "only_family": ("a", "b"),
        "without_hand": ("c",),
        "without_trait": ("narrow",),
        "weight": (("d", 2.0),),
        "hands": 3,
    }
    assert question_of(said) == {
        "round": "courtesy",
        "card": {"toml": card_file.read_text(encoding="utf-8"), "file": "my-card.toml"},
        "give": 0,
        "seen": "",
        "hands": 3,
        "arrivals": {"charleston": 3, "draws": 0, "claims": 1},
        "limits": {
            "stay": "F",
            "no_flowers": True,
            "keep_hands": {"count": 2, "reach": 0.1},
            "only": {"families": ["a", "b"]},
            "without": {"hands": ["c"], "traits": ["narrow"]},
            "weights": {"d": 2.0},
        },
    }


@pytest.mark.parametrize("given", [{"draws": 0}, {"charleston": 3, "claims": 2}])
def test_arrivals_are_given_together(given: dict[str, Any]) -> None:
    with pytest.raises(click.UsageError, match="go together"):
        question_of(given)


def test_a_line_goes_before_the_options_part_by_part() -> None:
    options = {"round": "courtesy", "card": {"toml": "x"}, "limits": {"stay": "F", "no_pairs": True}}
    line = {"rack": "r", "card": {"card": {}, "hand": []}, "limits": {"stay": "J"}}
    assert filled(line, options) == {
        "rack": "r",
        "round": "courtesy",
        "card": {"card": {}, "hand": []},
        "limits": {"stay": "J", "no_pairs": True},
    }
    assert filled({"rack": "r", "limits": None}, options)["limits"] is None
