"""What is typed becomes the question: rounds, numbers, cards, and limits made from the service's list."""

import json
from pathlib import Path
from typing import Any

import click
import pytest

from api.service import ROUNDS
from clients.cli.options import at_least, card_from, card_of, filled, number, question_of, round_name, weight
from clients.cli.output import Exit, Failure
from tests.clients.conftest import Ask, Run

MOST = 1_000_000


@pytest.mark.parametrize("name", ROUNDS)
def test_rounds_take_either_dash(name: str) -> None:
    assert round_name(name) == round_name(name.replace("_", "-")) == round_name(name.upper()) == name


@pytest.mark.parametrize(
    ("read", "written"),
    [
        (round_name, "third_right"),
        (number, "nan"),
        (number, "inf"),
        (weight, "=2"),
        (weight, "Copper Pans=much"),
        (at_least, "3"),
        (at_least, "-1:0.5"),
        (at_least, "٣:0.5"),
    ],
)
def test_what_cannot_be_read_is_wrong_usage(read: Any, written: str) -> None:
    with pytest.raises(click.BadParameter, match=r"is not|is none of"):
        read(written)


def test_weights_and_counts() -> None:
    assert weight("Copper Pans=2.5") == ("Copper Pans", 2.5)
    assert weight("a=b=0") == ("a=b", 0.0)
    assert at_least("3:0.05") == {"count": 3, "reach": 0.05}
    assert at_least("3:5%") == {"count": 3, "reach": 0.05}


def test_only_what_was_said_is_asked_and_a_zero_is_said() -> None:
    assert question_of({"round": None, "give": None, "no_pairs": False, "only_family": ()}) == {}
    said = {"give": 0, "seen": "", "charleston": 3, "draws": 0, "claims": 1, "drill": 2, "then_draws": 0}
    assert question_of(said) == {
        "give": 0,
        "seen": "",
        "drill": {"exchanges_left": 2, "then_draws": 0},
        "arrivals": {"charleston": 3, "draws": 0, "claims": 1},
    }


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


def test_every_limit_of_the_list_has_its_option(run: Run, ask: Ask) -> None:
    listed = json.loads(ask("/v1/limits"))
    for name in ("advise", "plan"):
        page = run(name, "--help").stdout
        says = " ".join(page.split())
        for limit in listed["limits"]:
            assert f"--{limit['name'].replace('_', '-')} " in page
            assert limit["sentence"] in says
        assert all(trait["name"] in page for trait in listed["traits"])
    dealt = run("deal", "--help").stdout
    assert "--stay" not in dealt
    assert "--no-pairs" in dealt


def test_a_name_stays_a_name_and_a_path_becomes_its_text(card_file: Path, tmp_path: Path) -> None:
    text = card_file.read_text(encoding="utf-8")
    bare = tmp_path / "bare"
    bare.write_text(text, encoding="utf-8")
    for name in ("small", "no\0name", "n" * 5000, str(tmp_path)):
        assert card_of(name) == name
    assert card_of(str(card_file)) == {"toml": text, "file": "my-card.toml"}
    assert card_of(str(bare)) == {"toml": text, "file": "bare"}


def test_card_files_that_cannot_be_used(tmp_path: Path) -> None:
    (tmp_path / "latin.toml").write_bytes(b'[card]\nname = "caf\xe9"\n')
    (tmp_path / "long.toml").write_bytes(b"#" * (MOST + 1))
    for name, fault in [("latin.toml", "not UTF-8 at byte 18"), ("long.toml", "over 1,000,000 bytes")]:
        with pytest.raises(Failure, match=fault) as caught:
            card_from(str(tmp_path / name))
        assert caught.value.exit_code == Exit.USAGE
    (tmp_path / "edge.toml").write_bytes(b"#" * MOST)
    assert len(card_from(str(tmp_path / "edge.toml"))["toml"]) == MOST
