"""Pages for people about one rack: every word the service sends is on them, and the tiles of the JSON."""

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest

from clients.cli.advise import plan_text, vote_text
from tests.clients.conftest import Run

SMALL = ("--card", "small", "--hands", "2")


def words_in(answer: Any, left_out: tuple[str, ...] = ()) -> Iterator[str]:
    """Every text of the members called ``words``, wherever they are, but for some of their members."""
    if isinstance(answer, list):
        for each in answer:
            yield from words_in(each, left_out)
    elif isinstance(answer, dict):
        for name, value in answer.items():
            if name != "words":
                yield from words_in(value, left_out)
            elif isinstance(value, dict):
                yield from (text for key, text in value.items() if text is not None and key not in left_out)
            else:
                yield from ([value] if isinstance(value, str) else value)


def flat(text: str) -> str:
    return " ".join(text.split())


def both(run: Run, *arguments: str) -> tuple[str, dict[str, Any]]:
    """The page and the answer to the same question; the page is 80 columns of plain text."""
    text, answer = run(*arguments), run(*arguments, "--json")
    assert (text.exit_code, answer.exit_code, text.stderr) == (0, 0, "")
    assert max(map(len, text.stdout.splitlines())) <= 80
    assert text.stdout.isascii()
    assert re.search(r"[\x00-\x09\x0b-\x1f\x7f]", text.stdout) is None
    assert all(line == line.rstrip() for line in text.stdout.splitlines())
    return text.stdout, json.loads(answer.stdout)


def check_words(text: str, answer: Any, left_out: tuple[str, ...] = ()) -> None:
    found = list(words_in(answer, left_out))
    assert found
    assert [words for words in found if flat(words) not in flat(text)] == []


def labeled(text: str, label: str) -> list[str]:
    found = re.search(rf"^ +{label}  +(\S.*(?:\n {{20,}}\S.*)*)$", text, re.MULTILINE)
    assert found is not None, label
    return found[1].split()


# Told in other words of the same object.
OF_HANDS = ("before", "alone", "away")


@pytest.mark.parametrize("card", ["small", "full"])
def test_a_page_of_advice(run: Run, rack: str, card: str) -> None:
    asked = ("advise", rack, "--round", "first-right", "--hands", "300", "--alternatives", "3")
    text, answer = both(run, *asked, "--card", card)
    # The passes of runners-up are on the page as tiles.
    runners_up = [{"words": {**each["words"], "pass": None}} for each in answer["alternatives"]]
    check_words(text, {**answer, "alternatives": runners_up}, OF_HANDS)
    assert labeled(text, "Rack") == answer["rack"]
    assert labeled(text, "Pass")[:3] == answer["pass"]
    assert len(runners_up) == 3
    tiles = re.findall(r"^ {15}(tiles|held|missing) +(\S.+(?:\n {24}.+)*)$", text, re.MULTILINE)
    told = [
        (label, hand[member] or ["none"])
        for hand in answer["hands"]
        for label, member in (("tiles", "target"), ("held", "served_by"), ("missing", "missing"))
    ]
    assert [(label, re.sub(r"\(.*", "", shown).split()) for label, shown in tiles] == told
    names = re.findall(r"%  (\S.*) \([^()]*\) +from ", text)
    assert names == [hand["name"] for hand in answer["given_up"]] != []
    assert text.count("Rack strength") == 2, "named once, explained once"


@pytest.mark.parametrize("round_", ["first-left", "courtesy"])
def test_numbers_of_tiles_are_compared(run: Run, rack: str, round_: str) -> None:
    text, answer = both(run, "advise", rack, "--round", round_, *SMALL)
    block = text.partition("Each number of your own tiles that may go\n")[2].partition("\n\n")[0]
    _, *rows = block.splitlines()
    assert len(rows) == len(answer["by_number"]) == 4
    for row, said in zip(rows, answer["by_number"], strict=True):
        give, strength, loss, tiles = re.split(r" {2,}", row.strip(), maxsplit=3)
        assert (give, strength, loss) == tuple(said["words"][name] for name in ("give", "strength", "loss"))
        assert tiles.split() == (said["pass"] or ["none"])


def test_why(run: Run, rack: str) -> None:
    text, answer = both(run, "advise", rack, "--round", "first-left", *SMALL, "--why", "--stay", "F")
    why = answer["why"]
    assert why["sentence"] in flat(text)
    check_words(text, why["sensitivity"])
    costs = text.partition("What it costs to pass a tile")[2].partition("\n\n")[0]
    shown = [re.split(r" {2,}", row.strip())[:2] for row in costs.splitlines()[2:] if row[2] != " "]
    assert [each[:2] for each in shown] == [
        [cost["words"]["tile"], cost["words"]["loss"]] for cost in why["costs"]
    ]
    assert len(shown) == len(set(answer["rack"]) - {"J"})


def test_a_pass_of_ones_own_and_the_direction(run: Run, rack: str) -> None:
    text, answer = both(
        run, "advise", rack, "--round", "first-right", *SMALL, "--mine", "5c F F", "--no-pairs"
    )
    assert " ".join(filter(None, answer["mine"]["words"].values())) in flat(text)
    assert "It breaks your limits: two alike are never passed." in flat(text)
    shown = text.partition("share of rack strength\n")[2].partition("\n\n")[0].splitlines()[1:]
    assert [re.split(r" {2,}", row.strip()) for row in shown] == [
        [each["name"], each["words"]["before"], each["words"]["after"]] for each in answer["families"]
    ]
    assert "Your pass" not in run("advise", rack, "--round", "first-right", *SMALL).stdout


def test_a_page_of_a_vote(run: Run, rack: str) -> None:
    text, answer = both(run, "vote", rack, "--card", "small", "--samples", "8")
    check_words(text, answer)
    assert "Any one player may stop the second Charleston" in flat(text)
    assert vote_text(answer) + "\n" == text


@pytest.mark.parametrize("rounds", [2, 3])
def test_a_page_of_a_plan(run: Run, rack: str, rounds: int) -> None:
    text, answer = both(
        run, "plan", rack, "--round", "first-across", "--rounds", str(rounds), "--card", "small"
    )
    check_words(text, answer)
    names = ["First across", "First left", "Second left"][:rounds]
    assert [each["words"]["round"] for each in answer["rounds"]] == names
    for name, each in zip(names, answer["rounds"], strict=True):
        assert labeled(text, name)[: len(each["pass"])] == each["pass"]
    assert ("nobody stops the second Charleston" in flat(text)) == (rounds == 3)
    assert "Sum" not in text
    assert plan_text(answer) + "\n" == text
