"""The fit of a card as a file and as an object: what it may be, and the line of each fault."""

import tomllib

import pytest

from patterns.card_file import card_name_in, shipped_card, shipped_names
from patterns.faults import FaultyInputError
from patterns.fit_file import fit_from_toml, read_fit, shipped_fit

LATER = (
    *("first_right = 6", "first_across = 4", "first_left = 3"),
    *("second_left = 3", "second_across = 1", "second_right = -1", "courtesy = -3"),
)
MAKES = ("groups", "some_pairs", "pairs_only", "concealed")
ALONE = """[fit.alone.MAKE]
lengths = [{ draws = 24, claims = 8, share = 1.0 }]
[fit.alone.MAKE.later]
LATER
"""
TEXT = """# made by hand for this test
[fit]
card = "Kitchen Table"
digest = "0123456789abcdef"
games = 12
seed = 3
made_with = "threepass 0.1.0"

[fit.some_hand]
lengths = [{ draws = 12, claims = 8, share = 0.75 }, { draws = 24, claims = 0, share = 0.25 }]
[fit.some_hand.later]
LATER
ALONE
[[fit.held_out]]
of = "some_hand"
after = "play_begins"
outcomes = 40
error = 0.05
by_chance = 0.04
ratio = 1.1
"""
TEXT = TEXT.replace("ALONE", "".join(ALONE.replace("MAKE", make) for make in MAKES))
TEXT = TEXT.replace("LATER", "\n".join(LATER))


def faults(text: str) -> list[str]:
    with pytest.raises(FaultyInputError) as caught:
        fit_from_toml(text, "my.fit.toml")
    return [fault.detail for fault in caught.value.faults]


def test_a_file_and_an_object_say_the_same() -> None:
    read = fit_from_toml(TEXT, "my.fit.toml")
    assert read == read_fit(tomllib.loads(TEXT)["fit"])
    assert (read.games, read.some_hand.lengths[0].share) == (12, 0.75)
    assert read.alone.concealed.later.courtesy == -3
    assert [(each.of, each.after, each.error) for each in read.held_out] == [
        ("some_hand", "play_begins", 0.05)
    ]


@pytest.mark.parametrize(
    ("written", "instead", "at"),
    [
        ('digest = "0123', 'digest = "no', "my.fit.toml, line 4, digest: "),
        ("games = 12", "games = 12\nlions = 1", "my.fit.toml, line 6, lions: "),
        ("share = 0.75", "share = 0.5", "my.fit.toml, line 9, some_hand: the shares of the lengths must"),
        ("draws = 12", "draws = 61", "my.fit.toml, line 10, some_hand, lengths, 1, draws: "),
        ("courtesy = -3", "", "my.fit.toml, line 11, some_hand, later, courtesy: "),
        ('of = "some_hand"', 'of = "lions"', "my.fit.toml, line 61, held_out, 1, of: "),
        ("error = 0.05", "error = nan", "my.fit.toml, line 64, held_out, 1, error: "),
        ("seed = 3", "seed = ", "my.fit.toml: "),
        ("[fit]", "[lions]", "my.fit.toml, line 2: "),
    ],
)
def test_a_fault_names_its_line(written: str, instead: str, at: str) -> None:
    assert written in TEXT
    assert any(detail.startswith(at) for detail in faults(TEXT.replace(written, instead)))


def test_all_faults_are_told_and_nothing_is_judged_twice() -> None:
    spoiled = TEXT.replace("games = 12", 'games = "12"').replace("outcomes = 40", "outcomes = 0")
    assert len(faults(spoiled)) == 2
    twice = TEXT + TEXT[TEXT.index("[[fit.held_out]]") :]
    assert faults(twice) == ["my.fit.toml, line 2: held_out judges the same thing twice"]


@pytest.mark.parametrize("name", shipped_names())
def test_every_practice_card_comes_with_its_own_fit(name: str) -> None:
    fit, card = shipped_fit(name), shipped_card(name)
    assert (fit.card, fit.digest) == (card.name, card.digest)


@pytest.mark.parametrize("name", ["none", "../cards/small"])
def test_an_unknown_fit(name: str) -> None:
    with pytest.raises(KeyError):
        shipped_fit(name)


def test_the_fit_beside_a_card_is_no_card() -> None:
    assert card_name_in("small.toml") == "small"
    assert card_name_in("small.fit.toml") is card_name_in("small.txt") is None
