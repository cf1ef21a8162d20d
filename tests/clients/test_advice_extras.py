"""Numbers compared, the look-ahead and the reasons: the page for people says what the JSON says."""

import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from click.testing import Result

from clients.cli.render.advice import advice_text
from clients.cli.render.words import tile_words
from tests.clients.arrivals import check_coming

Run = Callable[..., Result]
SMALL = ("--card", "small", "--hands", "1")


def both(run: Run, *arguments: str) -> tuple[str, dict[str, Any]]:
    text, answer = run(*arguments), run(*arguments, "--json")
    assert (text.exit_code, answer.exit_code, text.stderr) == (0, 0, "")
    assert max(map(len, text.stdout.splitlines())) <= 80
    assert text.stdout.isascii()
    return text.stdout, json.loads(answer.stdout)


def block(text: str, title: str) -> list[str]:
    """Return the lines of the block with this title, without it."""
    (found,) = [part.splitlines() for part in text.split("\n\n") if part.startswith(title)]
    return found[1:]


@pytest.mark.parametrize("round_", ["first-left", "second-right"])
def test_blind_passes_are_compared(run: Run, rack: str, round_: str) -> None:
    text, answer = both(run, "advise", rack, "--round", round_, *SMALL)
    head, *rows = block(text, "Each number that may go")
    assert head.split()[:2] == ["Own", "Blind"]
    assert len(rows) == len(answer["by_number"]) == 4
    for row, said in zip(rows, answer["by_number"], strict=True):
        found = re.fullmatch(r" +(\d) +(\d) +([\d.]+) +(-?[\d.]+)  (.*?)(  \(best\))?", row)
        assert found is not None, row
        assert (int(found[1]), int(found[2])) == (said["give"], said["blind"])
        assert float(found[3]) == pytest.approx(said["expected_hands"], abs=0.00051)
        assert float(found[4]) == pytest.approx(said["gain"], abs=0.000051)
        assert found[5].split() == (said["pass"] or ["none"])
        assert bool(found[6]) == (said["pass"] == answer["pass"])


def test_courtesy_numbers_have_no_blind_ones(run: Run, rack: str) -> None:
    text, answer = both(run, "advise", rack, "--round", "courtesy", *SMALL)
    head, *rows = block(text, "Each number that may go")
    assert "Blind" not in head
    assert [int(row.split()[0]) for row in rows] == [0, 1, 2, 3]
    for row, said in zip(rows, answer["by_number"], strict=True):
        tiles = re.sub(r" \(best\)", "", row).split()[3:]
        assert tiles == (said["pass"] or ["none"])


@pytest.mark.parametrize("more", [("--round", "first-right"), ("--round", "courtesy", "--give", "2")])
def test_one_number_is_no_comparison(run: Run, rack: str, more: tuple[str, ...]) -> None:
    text, answer = both(run, "advise", rack, *more, *SMALL)
    assert len(answer["by_number"]) == 1
    assert "Each number" not in text
    assert "Why" not in text
    assert "Looking ahead" not in text


@pytest.mark.parametrize("stated", [(), ("--charleston", "3", "--draws", "15", "--claims", "22")])
def test_why(run: Run, rack: str, stated: tuple[str, ...]) -> None:
    text, answer = both(run, "advise", rack, "--round", "first-left", *SMALL, "--why", *stated)
    why = answer["why"]
    assert " ".join(" ".join(block(text, "Why")).split()) == why["sentence"]
    _, *rows = block(text, "What it costs to pass a tile")
    assert len(rows) == len(why["costs"]) == len(set(answer["rack"]) - {"J"})
    for row, said in zip(rows, why["costs"], strict=True):
        tile, cost, passed = re.split(r" {2,}", row.strip(), maxsplit=2)
        assert tile == tile_words(said["tile"])
        assert float(cost) == pytest.approx(said["cost"], abs=0.000051)
        if said["tile"] in answer["pass"]:
            assert passed == "in the advised pass"
        else:
            assert passed.split() == said["pass"]
    coming = " ".join(" ".join(block(text, "If fewer or more tiles come")).split())
    found = re.findall(r"(\d+) % as many, (.*?): (.*?)\.(?= |$)", coming)
    assert len(found) == len(why["sensitivity"]) == 2
    for (share, arrivals, says), said in zip(found, why["sensitivity"], strict=True):
        check_coming(arrivals, said["arrivals"])
        assert (len(said["arrivals"]["lengths"]) == 1) == bool(stated)
        assert int(share) == round(100 * said["share"])
        if said["same"]:
            assert says == "the same pass"
        else:
            tiles, _, regret = says.partition(" is better, by ")
            assert tiles.split() == said["pass"]
            assert float(regret.removesuffix(" hands")) == pytest.approx(said["regret"], abs=0.000051)


def test_tiles_that_no_pass_may_hold(run: Run, rack: str) -> None:
    text, answer = both(run, "advise", rack, "--round", "first-right", *SMALL, "--why", "--stay", "F F")
    (flower,) = [cost for cost in answer["why"]["costs"] if cost["tile"] == "F"]
    assert flower["pass"] is None
    assert re.search(r"^  flower +-  the limits allow no pass with it$", text, re.MULTILINE)


def test_look_ahead(run: Run, rack: str) -> None:
    asked = ("--look-ahead", "9", "--look-ahead-seed", "4")
    text, answer = both(run, "advise", rack, "--round", "first-across", *SMALL, *asked)
    ahead = answer["look_ahead"]
    exchanges, samples = ahead["exchanges"], ahead["samples"]
    title = f"Looking ahead over {exchanges} exchanges, {samples} samples of what comes in"
    says, _, *rows = block(text, title)
    assert exchanges == 2
    assert 2 <= samples <= 9
    assert ("plain answer stands" in says) == (not ahead["changed"])
    assert len(rows) == len(ahead["passes"]) == 3
    for row, said in zip(rows, ahead["passes"], strict=True):
        mean, behind, error, *tiles = row.split()
        assert float(mean) == pytest.approx(said["mean"], abs=0.00051)
        assert float(behind) == pytest.approx(said["behind"], abs=0.000051)
        assert float(error) == pytest.approx(said["error"], abs=0.000051)
        assert tiles == said["pass"]


def test_a_look_ahead_that_changes_the_answer_says_so(run: Run, rack: str) -> None:
    _, answer = both(run, "advise", rack, "--round", "first-right", *SMALL)
    passes = [
        {"pass": answer["pass"], "mean": 1.0, "behind": 0.5, "error": 0.1},
        {"pass": ["F"], "mean": 1.5, "behind": 0.0, "error": 0.0},
    ]
    ahead = {"passes": passes, "chosen": 1, "changed": True, "samples": 8, "exchanges": 1}
    text = advice_text({**answer, "look_ahead": ahead})
    assert "Looking ahead over 1 exchange, 8 samples" in text
    assert "Rather pass F: it is clearly ahead of the plain answer." in text


def of_draws(draws: int) -> dict[str, Any]:
    """Return what an answer says of a drill's one length of play."""
    one = {"draws": draws, "claims": 0}
    return {**one, "lengths": [{**one, "share": 1}]}


def test_the_options_reach_the_service(run: Run, rack: str) -> None:
    body = {
        "rack": rack,
        "round": "first_left",
        "card": "small",
        "hands": 1,
        "drill": {"exchanges_left": 2, "then_draws": 8},
        "why": True,
        "look_ahead": {"samples": 3, "seed": 4},
    }
    lines = run("advise", "-", stdin=json.dumps(body) + "\n")
    asked = ("--drill", "2", "--then-draws", "8", "--why", "--look-ahead", "3", "--look-ahead-seed", "4")
    result = run("advise", rack, "--round", "first-left", *SMALL, *asked, "--json")
    assert (result.exit_code, lines.exit_code) == (0, 0)
    assert lines.stdout_bytes == result.stdout_bytes + b"\n"
    answer = json.loads(result.stdout)
    assert answer["assumptions"]["arrivals"] == {"charleston": 6, **of_draws(8)}
    assert answer["look_ahead"]["samples"] <= 3


def test_a_line_of_its_own_drill_takes_the_rest_from_the_options(run: Run, rack: str) -> None:
    line = json.dumps({"rack": rack, "drill": {"exchanges_left": 3}}) + "\n"
    asked = ("--round", "first-right", "--drill", "1", "--then-draws", "5")
    result = run("advise", "-", *asked, *SMALL, stdin=line)
    assert result.exit_code == 0
    assert json.loads(result.stdout)["assumptions"]["arrivals"] == {"charleston": 9, **of_draws(5)}


@pytest.mark.parametrize(
    ("options", "fault"),
    [
        (("--then-draws", "3"), "--then-draws needs --drill"),
        (("--look-ahead-seed", "3"), "--look-ahead-seed needs --look-ahead"),
    ],
)
def test_a_part_without_its_whole(run: Run, rack: str, options: tuple[str, ...], fault: str) -> None:
    result = run("advise", rack, "--round", "first-right", *options)
    assert (result.exit_code, result.stdout) == (2, "")
    assert fault in result.stderr


def test_what_the_service_refuses(run: Run, rack: str) -> None:
    result = run("advise", rack, "--round", "first-right", *SMALL, "--drill", "13", "--look-ahead", "1")
    assert (result.exit_code, result.stdout) == (1, "")
    assert {line.partition(":")[0] for line in result.stderr.splitlines()} == {
        "drill, exchanges_left",
        "look_ahead, samples",
    }


def test_no_tile_given_costs_nothing(run: Run, rack: str) -> None:
    text, answer = both(run, "advise", rack, "--round", "courtesy", "--give", "0", *SMALL, "--why")
    assert answer["why"]["costs"] == []
    assert "Why\n" in text
    assert "What it costs" not in text
