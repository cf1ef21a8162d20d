"""The page for people says what the JSON says."""

import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from click.testing import Result

from clients.cli.render.advice import advice_text
from solver.arrivals import arrivals_alone, default_arrivals
from solver.rounds import Round
from tests.clients.arrivals import check_coming

Run = Callable[..., Result]
ALL = ("--round", "first-right", "--hands", "300", "--alternatives", "3")


@pytest.fixture(params=["small", "full"])
def both(request: pytest.FixtureRequest, run: Run, rack: str) -> tuple[str, dict[str, Any]]:
    text = run("advise", rack, *ALL, "--card", request.param)
    answer = run("advise", rack, *ALL, "--card", request.param, "--json")
    assert (text.exit_code, answer.exit_code, text.stderr) == (0, 0, "")
    return text.stdout, json.loads(answer.stdout)


def share(written: str) -> tuple[float, float]:
    """Return the bounds of a share that is written in percent with one decimal."""
    if written.startswith("under"):
        return 0, 0.0005
    number = float(written.removesuffix(" %"))
    return (number - 0.05001) / 100, (number + 0.05001) / 100


PERCENT = r"((?:under )?[\d.]+ %)"


def test_it_is_80_columns_of_plain_text(both: tuple[str, dict[str, Any]]) -> None:
    text, _ = both
    assert max(map(len, text.splitlines())) <= 80
    assert text.isascii()
    assert re.search(r"[\x00-\x09\x0b-\x1f\x7f]", text) is None
    assert all(line == line.rstrip() for line in text.splitlines())


def test_pass_and_worth(both: tuple[str, dict[str, Any]]) -> None:
    text, answer = both
    passed = re.search(r"^  Pass +(.+)\n +(.+)$", text, re.MULTILINE)
    assert passed is not None
    assert passed[1].split() == answer["pass"]
    assert len(passed[2].split(", ")) == 3
    worth = re.search(r"Expected hands +([\d.]+) with the whole rack, ([\d.]+) after", text)
    assert worth is not None
    assert float(worth[1]) == pytest.approx(answer["expected_hands_before"], abs=0.00051)
    assert float(worth[2]) == pytest.approx(answer["expected_hands"], abs=0.00051)
    assert ("proved best" in text) == (answer["proof"]["status"] == "optimal")


def test_runners_up_with_their_gaps(both: tuple[str, dict[str, Any]]) -> None:
    text, answer = both
    found = re.findall(r"^ {2}(?:Runners-up| {10}) +(\S.*?) {2,}([\d.]+), (.+)$", text, re.MULTILINE)
    assert len(found) == len(answer["alternatives"]) == 3
    for (tiles, worth, less), other in zip(found, answer["alternatives"], strict=True):
        assert tiles.split() == other["pass"]
        assert float(worth) == pytest.approx(other["expected_hands"], abs=0.00051)
        gap = 0 if less == "the same" else float(less.removeprefix("under ").removesuffix(" less"))
        assert gap == pytest.approx(other["gap"], abs=0.00010001 if "under" in less else 0.000051)


def test_every_hand_with_its_tiles(both: tuple[str, dict[str, Any]]) -> None:
    text, answer = both
    hand = re.compile(
        rf"^ +{PERCENT}  (\S.*) \((.+?)(, concealed)?\)\s+"
        rf"(complete|\d+) ?(?:tiles? away)?(?:, was {PERCENT})?(?:, {PERCENT} alone)?\n"
        r" +tiles +(\S.+(?:\n {24}.+)*)\n +held +(\S.+(?:\n {24}.+)*)\n +missing +(\S.+(?:\n {24}.+)*)$",
        re.MULTILINE,
    )
    found = hand.findall(text)
    assert len(found) == len(answer["hands"]) == answer["hands_in_reach"] > 5
    for (reach, name, family, concealed, away, was, alone, tiles, held, missing), said in zip(
        found, answer["hands"], strict=True
    ):
        low, high = share(reach)
        assert low <= said["reach"] <= high
        low, high = share(was or reach)
        assert low <= said["reach_before"] <= high
        low, high = share(alone)
        assert low <= said["alone"] <= high
        assert (name, family, bool(concealed)) == (said["name"], said["family"], said["concealed"])
        assert away == ("complete" if said["tiles_away"] == 0 else str(said["tiles_away"]))
        assert tiles.split() == said["target"]
        assert re.sub(r"\(.*", "", held).split() == (said["served_by"] or ["none"])
        assert missing.split() == (said["missing"] or ["none"])
        assert (f"({said['jokers_used']} joker" in held) == (said["jokers_used"] > 0)


def test_what_is_given_up(both: tuple[str, dict[str, Any]]) -> None:
    text, answer = both
    lost = re.compile(rf"^ +-{PERCENT}  (.+) \((.+)\) +from {PERCENT} to {PERCENT}$", re.MULTILINE)
    found = lost.findall(text.partition("Made less likely")[2])
    assert [name for _, name, *_ in found] == [hand["name"] for hand in answer["given_up"]] != []
    for (less, _, _, before, after), said in zip(found, answer["given_up"], strict=True):
        for written, key in ((less, "lost"), (before, "reach_before"), (after, "reach")):
            low, high = share(written)
            assert low <= said[key] <= high


def test_assumptions(both: tuple[str, dict[str, Any]]) -> None:
    text, answer = both
    assumed = re.sub(r"\s+", " ", text.partition("\nAssumed\n")[2])
    arrivals, unseen = answer["assumptions"]["arrivals"], answer["assumptions"]["unseen"]
    to_come = re.search(r"To come: exchanges worth (\d+) tiles; (.*?)\. To come to", assumed)
    assert to_come is not None
    assert int(to_come[1]) == arrivals["charleston"] == default_arrivals(Round.FIRST_RIGHT, 3).charleston
    check_coming(to_come[2], arrivals)
    alone = re.search(r"of one hand alone: exchanges worth (\d+) tiles; (.*?)\. Unseen", assumed)
    assert alone is not None
    assert int(alone[1]) == arrivals_alone(Round.FIRST_RIGHT, 3).charleston
    check_coming(alone[2], answer["assumptions"]["arrivals_alone"])
    assert len(arrivals["lengths"]) > 1
    assert f"Unseen: {unseen['naturals'] + unseen['jokers']} tiles, {unseen['jokers']} jokers" in assumed
    assert f"{answer['assumptions']['card']['hands']} hands" in assumed
    assert f"threepass {answer['assumptions']['versions']['threepass']}" in assumed


@pytest.fixture
def answer(run: Run, rack: str) -> dict[str, Any]:
    answer: dict[str, Any] = json.loads(
        run("advise", rack, "--round", "first-right", "--card", "small", "--json").stdout
    )
    return answer


@pytest.mark.parametrize(
    ("call", "says"),
    [
        ({"word": "only pass", "gap": None, "share": None}, "no choice: no other pass is allowed"),
        ({"word": "even", "gap": 0.0, "share": 0.0}, "a toss-up: the runner-up is worth the same"),
        (
            {"word": "close", "gap": 0.02, "share": 0.01},
            "a close call: the runner-up is worth 0.0200 hands less (1.0 %)",
        ),
        ({"word": "fair", "gap": 0.00001, "share": 0.00001}, "worth under 0.0001 hands less (under 0.1 %)"),
        (
            {"word": "clear", "gap": 1.0, "share": None},
            "a clear best: the runner-up is worth 1.0000 hands less",
        ),
        ({"word": None, "gap": None, "share": None}, "not weighed: no runner-up was asked for"),
    ],
)
def test_calls_in_words(answer: dict[str, Any], call: dict[str, Any], says: str) -> None:
    text = re.sub(r"\s+", " ", advice_text({**answer, "call": call}))
    assert says in text


def test_what_is_not_proved_says_so(answer: dict[str, Any]) -> None:
    proof = {"status": "feasible", "bound": 2.5, "gap": 0.25, "resolution": 1e-7}
    text = re.sub(r"\s+", " ", advice_text({**answer, "proof": proof}))
    assert "proved best" not in text
    assert (
        "not proved: the work allowed ran out; the best there can be is 2.500, which is 0.2500 more" in text
    )


def test_an_answer_with_little_in_it(answer: dict[str, Any]) -> None:
    assumptions = {**answer["assumptions"], "limits": ["no flower may go", "no two alike may go"]}
    bare = {"hands": [], "given_up": [], "alternatives": [], "pass": [], "hands_in_reach": 7}
    text = advice_text({**answer, **bare, "assumptions": assumptions})
    assert re.search(r"^  Pass +none\n +nothing$", text, re.MULTILINE)
    assert "Made less likely" not in text
    assert "Runner" not in text
    assert "Limits: no flower may go; no two alike may go." in text
    assert re.search(r"^Within reach after the pass: 7 of \d+ hands$", text, re.MULTILINE)


def test_a_finished_hand_is_complete(answer: dict[str, Any]) -> None:
    hand = {**answer["hands"][0], "reach": 1.0, "reach_before": 1.0, "tiles_away": 0, "missing": []}
    text = advice_text({**answer, "hands": [hand]})
    assert re.search(r"^ +100\.0 %  .* complete$", text, re.MULTILINE)
    assert re.search(r"^ +missing  none$", text, re.MULTILINE)


def test_what_simulated_tables_say_is_left_out_where_nothing_was_measured(answer: dict[str, Any]) -> None:
    text = advice_text(answer)
    assert re.search(
        rf"^  Some hand +{PERCENT} to complete one, as simulated tables went$", text, re.MULTILINE
    )
    assert text.count("Alone: the chance") == 1
    hands = [{**hand, "alone": None} for hand in answer["hands"]]
    assumed = {**answer["assumptions"], "arrivals_alone": None}
    text = advice_text({**answer, "hands": hands, "some_hand": None, "assumptions": assumed})
    assert "Some hand" not in text and "alone" not in text.lower()
