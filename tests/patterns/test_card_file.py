from pathlib import Path

import pytest

from patterns.card_file import (
    MAX_FILE,
    card_from_file,
    card_from_toml,
    form_from_toml,
    read_text,
    shipped_card,
    shipped_names,
)
from patterns.faults import Fault, FaultyInputError

HEAD = '[card]\nname = "c"\n'
GOOD = '[[hand]]\nname = "good"\nfamily = "f"\ngroups = "5p*4 6p*4 flower*6"\n'


def faults_of(text: str) -> tuple[Fault, ...]:
    with pytest.raises(FaultyInputError) as caught:
        card_from_toml(text, "my.toml")
    return caught.value.faults


def file_faults(path: Path) -> list[str]:
    with pytest.raises(FaultyInputError) as caught:
        card_from_file(path)
    return [fault.detail for fault in caught.value.faults]


def test_a_card_is_read_from_a_file(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(HEAD + GOOD, encoding="utf-8")
    card = card_from_file(path)
    assert (card.name, [hand.name for hand in card.hands]) == ("c", ["good"])
    assert form_from_toml(read_text(path), "mine.toml").hand[0].alternatives == ("5p*4 6p*4 flower*6",)


def test_windows_line_ends_and_names_beyond_ascii(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_bytes((HEAD + GOOD).replace("good", "Grüße 門").replace("\n", "\r\n").encode())
    assert card_from_file(path).hands[0].name == "Grüße 門"


X = 'name = "x"\nfamily = "f"\n'
GROUPS = 'groups = "5p*4 7p*4 flower*6"\n'


@pytest.mark.parametrize(
    ("hand", "start"),
    [
        (X + GROUPS.replace("*6", "*5"), "line 11, groups: hand 'x': 13 tiles"),
        (X + "\n" + GROUPS.replace("7p", "7x"), "line 12, groups: hand 'x': column 7: "),
        (
            'groups = [\n"5p*4 6p*4 flower*6",\n"5p*4"]\n' + X,
            "line 9, groups, alternative 2: hand 'x': 4 tiles",
        ),
        (X.replace("x", "good") + GROUPS, "line 9, name: hand 1 has the same name"),
        (X + GROUPS + 'where = "n odd"', "line 12, where: hand 'x': "),
        (X + "groups = 5", "line 11, groups: input should be a valid string"),
        (X + 'groups = ["5p*4", 5]', "line 11, groups, alternative 2: input should be a valid string"),
        (X + "weight = nan\n" + GROUPS, "line 11, weight: input should be a finite number"),
        (X + GROUPS + "colour = 1", "line 12, colour: extra inputs"),
        ('name = "x"\n' + GROUPS, "line 8, family: field required"),
    ],
)
def test_a_fault_has_the_line_of_its_key(hand: str, start: str) -> None:
    # The head takes lines 1-2, the good hand 3-6, a comment 7, and [[hand]] is line 8.
    (fault,) = faults_of(f"{HEAD}{GOOD}# [[hand]] in a comment is none\n[[hand]]\n{hand}\n")
    assert fault.detail.startswith(f"my.toml, {start}")


def test_faults_outside_the_hands() -> None:
    assert faults_of("[card]\nnam = 1\n" + GOOD)[1].detail.startswith("my.toml, line 2, nam: ")
    assert faults_of(GOOD)[0].detail == "my.toml, card: field required"
    assert faults_of(HEAD)[0].detail == "my.toml, hand: field required"
    assert faults_of("extra = 1\n" + HEAD + GOOD)[0].detail.startswith("my.toml, extra: ")
    assert faults_of("")[0].detail == "my.toml, card: field required"


def test_hands_written_inline_are_numbered_when_their_line_is_unknown() -> None:
    text = 'hand = [{name = "x", family = "f", groups = "5p*4"}]\n' + HEAD
    assert faults_of(text)[0].detail.startswith("my.toml, hand 1, groups: hand 'x': 4 tiles")


def test_too_many_targets_has_the_line_of_the_hand() -> None:
    wide = '[[hand]]\nname = "{}"\nfamily = "f"\ngroups = "np*4 nq*3 nr*2 wind1*2 wind2*1 dragon*2"\n'
    (fault,) = faults_of(HEAD + "".join(wide.format(index) for index in range(4)))
    assert fault.detail.startswith("my.toml, line 15, hand 4: more than 6000 targets")


def test_every_fault_with_its_line() -> None:
    bad = GOOD.replace("flower*6", "flower*5")
    faults = faults_of(HEAD + bad + bad.replace("good", "x") + GOOD.replace("good", "y"))
    assert [fault.detail.split(", groups")[0] for fault in faults] == ["my.toml, line 6", "my.toml, line 10"]


def test_a_form_feed_or_line_separator_does_not_shift_lines() -> None:
    text = HEAD.replace('"c"', '"a\u2028b"') + GOOD.replace("flower*6", "flower*5")
    assert faults_of(text)[0].detail.startswith("my.toml, line 6, ")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[card\nname = 1", "line 1"),
        (HEAD + 'name = "again"\n', "line 3"),
        (HEAD + GOOD + 'groups = "unclosed\n', "line 7"),
        ("a = 2026-13-45", "line 1"),
        ("a = " + "9" * 5_000, "my.toml: "),
        ("a = " + "[" * 5_000 + "]" * 5_000, "my.toml: "),
        ("\0", "line 1"),
    ],
)
def test_text_that_is_not_toml_is_refused_with_its_line(text: str, said: str) -> None:
    assert any(said in fault.detail for fault in faults_of(text))
    assert all(fault.detail.startswith("my.toml") for fault in faults_of(text))


def test_a_file_that_is_not_utf_8(tmp_path: Path) -> None:
    path = tmp_path / "latin.toml"
    path.write_bytes(HEAD.encode() + b'[[hand]]\nname = "\xe9"\n')
    assert file_faults(path) == [f"latin.toml: not UTF-8 at byte {len(HEAD) + 17}"]


def test_no_such_file(tmp_path: Path) -> None:
    (detail,) = file_faults(tmp_path / "none.toml")
    assert detail == "none.toml: No such file or directory"


def test_a_folder_is_no_card(tmp_path: Path) -> None:
    (detail,) = file_faults(tmp_path)
    assert detail.startswith(f"{tmp_path.name}: ")


def test_a_file_over_a_megabyte_is_not_read_whole(tmp_path: Path) -> None:
    path = tmp_path / "big.toml"
    path.write_bytes((HEAD + GOOD).encode().ljust(MAX_FILE, b"\n"))
    assert len(card_from_file(path).hands) == 1
    path.write_bytes((HEAD + GOOD).encode().ljust(MAX_FILE + 1, b"\n"))
    assert file_faults(path) == [f"big.toml: over {MAX_FILE} bytes"]


def test_an_unknown_shipped_card() -> None:
    with pytest.raises(KeyError, match="none"):
        shipped_card("none")
    with pytest.raises(KeyError):
        shipped_card("../cards/small")
    assert shipped_names() == ("full", "small")
