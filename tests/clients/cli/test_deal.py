import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from clients.cli import deals as module
from clients.cli.deals import deal_text
from clients.cli.service import Reply
from tests.clients.conftest import Ask, Posting, Run

SMALL = ("deal", "--card", "small")


@pytest.mark.parametrize("name", ["deal", "sheet"])
def test_every_option_reaches_the_service(run: Run, ask: Ask, tmp_path: Path, name: str) -> None:
    card = json.loads(ask("/v1/cards/small"))
    families = card["families"]
    hand = next(hand["name"] for hand in card["hands"] if hand["family"] == families[0])
    body: dict[str, Any] = {
        "seed": 7,
        "count": 2,
        "start": 3,
        "tiles": 14,
        "difficulty": "close",
        "jokers": 1,
        "drill": {"exchanges_left": 2, "then_draws": 30},
        "card": "small",
        "limits": {
            "only": {"families": families},
            "without": {"traits": ["one-suit"]},
            "weights": {hand: 3.0},
            "no_pairs": True,
        },
        "budget": 200,
        "objective": "sum",
    }
    # Any family that is likeliest in some deal.
    family = body["family"] = json.loads(ask("/v1/deals", body))["deals"][0]["family"]
    only = [word for each in families for word in ("--only-family", each)]
    # fmt: off
    asked = [
        name, "--card", "small", "--seed", "7", "--count", "2", "--start", "3", "--tiles", "14",
        "--difficulty", "Close", "--family", family, "--jokers", "1", "--drill", "2", "--then-draws", "30",
        *only, "--without-trait", "one-suit", "--weight", f"{hand}=3", "--no-pairs", "--budget", "200",
        "--objective", "Sum",
    ]
    # fmt: on
    if name == "deal":
        expected = ask("/v1/deals", {**body, "heap": True, "answers": True})
        assert run(*asked, "--heap", "--answers", "--json").stdout_bytes == expected
        return
    more = ["--round", "courtesy", "--charleston", "3", "--draws", "9", "--claims", "7"]
    result = run(*asked, *more, "--formats", "json", "--out", str(tmp_path))
    assert result.exit_code == 0, result.stderr
    body |= {"round": "courtesy", "arrivals": {"charleston": 3, "draws": 9, "claims": 7}}
    expected = json.loads(ask("/v1/sheets", body))["sheet"]
    assert json.loads((tmp_path / "sheet.json").read_bytes()) == expected
    assert expected["problems"]


def test_a_line_begins_with_a_rack_to_paste(run: Run) -> None:
    asked = (*SMALL, "--seed", "7", "--count", "6")
    text, answer = run(*asked), json.loads(run(*asked, "--json").stdout)
    assert (text.exit_code, text.stderr) == (0, "")
    found = [re.fullmatch(r'("[^"]+") +(\d+)  (\S.*?) {2,}(\S.*)', line) for line in text.stdout.splitlines()]
    assert len(found) == len(answer["deals"]) == 6
    racks = []
    for line, said in zip(found, answer["deals"], strict=True):
        assert line is not None
        racks.append(json.loads(line[1]))
        assert racks[-1].split() == said["rack"]
        assert (int(line[2]), line[3], line[4]) == (said["index"], said["closeness"], said["family"])
    lines = "".join(f"{json.dumps(rack)}\n" for rack in racks)
    advised = run("advise", "-", "--round", "first-right", "--card", "small", stdin=lines)
    assert advised.exit_code == 0
    advised_words = [json.loads(line)["closeness"]["word"] for line in advised.stdout.splitlines()]
    assert advised_words == [said["closeness"] for said in answer["deals"]]


def test_answers_and_heap_stand_below(run: Run) -> None:
    asked = (*SMALL, "--seed", "11", "--count", "2", "--answers", "--heap", "--drill", "3")
    text, answer = run(*asked), json.loads(run(*asked, "--json").stdout)
    assert max(map(len, text.stdout.splitlines())) <= 80
    for block, said in zip(text.stdout.split('\n"'), answer["deals"], strict=True):
        assert re.search(r"^    pass  (.*)$", block, re.MULTILINE)[1].split() == said["pass"]  # type: ignore[index]
        assert block.partition("    heap  ")[2].split() == said["heap"]
        assert "J" not in said["heap"]


def test_several_requests_find_what_one_would(
    run: Run, ask: Ask, posting: Posting, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = {"seed": 7, "count": 5, "difficulty": "clear", "budget": 80, "card": "small"}
    expected = json.loads(ask("/v1/deals", one))
    monkeypatch.setattr(module, "MOST_TRIED", 4)  # fewer than are wanted
    bodies = posting()
    asked = ("--seed", "7", "--count", "5", "--difficulty", "clear", "--budget", "80")
    result = run(*SMALL, *asked, "--json")
    assert json.loads(result.stdout) == expected
    assert len(bodies) > 1
    assert sum(body["budget"] for _, body in bodies) <= 80
    text = run(*SMALL, *asked).stdout.splitlines()
    assert len(text) == len(json.loads(result.stdout)["deals"])


def test_the_budget_grows_with_the_number_wanted(run: Run, posting: Posting) -> None:
    def none_found(_path: str, body: bytes, _real: Any) -> Reply:
        tried = json.loads(body)["budget"]
        return Reply(200, json.dumps({"deals": [], "complete": False, "tried": tried, "seed": 1}).encode())

    for count, budget in (("1", 400), ("50", 400), ("100", 800)):
        asked = posting(none_found)
        result = run("deal", "--seed", "1", "--count", count)
        assert sum(body["budget"] for _, body in asked) == budget
        assert result.exit_code == 0
        assert result.stderr.endswith(
            f"only 0 of {count} deal{'s' * (count != '1')} found: the budget was {budget}\n"
        )


@pytest.mark.parametrize("more", [(), ("--json",)])
def test_an_interruption_keeps_the_deals_found(
    run: Run, monkeypatch: pytest.MonkeyPatch, stop_after: Callable[[int], None], more: tuple[str, ...]
) -> None:
    monkeypatch.setattr(module, "MOST_DEALS", 3)
    stop_after(1)
    result = run(*SMALL, "--seed", "2", "--count", "9", *more)
    assert result.exit_code == 130
    assert result.stderr == "interrupted: the answers printed so far are whole\n"
    if more:
        answer = json.loads(result.stdout)
        assert (len(answer["deals"]), answer["complete"], answer["tried"]) == (3, False, 3)
    else:
        assert len(result.stdout.splitlines()) == 3


def test_a_deal_of_which_nothing_is_known() -> None:
    words = {"closeness": None, "family": None}
    bare = {"rack": ["F"], "index": 1, "words": words, "pass": None, "heap": None}
    assert deal_text(bare).split() == ['"F"', "1", "-", "-"]


def test_composed_racks_are_a_table_for_sheets(run: Run, ask: Ask, tmp_path: Path) -> None:
    hand = json.loads(ask("/v1/cards/small"))["hands"][0]
    name = f"{hand['name']}/{hand['family']}"
    asked = ("compose", "--card", "small", "--near", f"{name}:6", "--jokers", "0", "--clear", "--count", "2")
    more = ("--holds", "5c 5c", "--apart", "6", "--seed", "3", "--flowers", "1", "--answers")
    body = {"seed": 3, "count": 2, "card": "small", "near": [{"name": name, "away": 6}], "jokers": 0}
    body |= {"holds": "5c 5c", "apart": 6, "difficulty": "clear", "flowers": 1, "answers": True}
    expected = ask("/v1/compositions", body)
    assert run(*asked, *more, "--json").stdout_bytes == expected
    racks, deals = tmp_path / "racks.csv", json.loads(expected)["deals"]
    text = run(*asked, *more)
    assert (text.exit_code, text.stderr, len(deals)) == (0, "", 2)
    rows = [[cell.strip() for cell in line.split(";")] for line in text.stdout.splitlines()]
    told = [
        [*map(" ".join, (each["rack"],)), "clear", each["family"], " ".join(each["pass"])] for each in deals
    ]
    assert rows == [["rack", "how close", "likeliest family", "best pass"], *told]
    racks.write_text(text.stdout)
    sheet = (
        "sheet",
        "--card",
        "small",
        "--racks",
        str(racks),
        "--formats",
        "json",
        "--out",
        str(tmp_path / "s"),
    )
    assert run(*sheet).exit_code == 0
    problems = json.loads((tmp_path / "s" / "sheet.json").read_bytes())["problems"]
    assert [each["rack"] for each in problems] == [each["rack"] for each in deals]


def test_composed_racks_that_cannot_be(run: Run) -> None:
    few = run("compose", "--card", "small", "--holds", "NNNN EEEE WWWW", "--apart", "9", "--count", "2")
    assert few.exit_code == 0 and len(few.stdout.splitlines()) == 2
    assert few.stderr.startswith("only 1 of 2 racks found: 1 tried")
    none = run("compose", "--card", "small", "--holds", "J", "--jokers", "0")
    assert (none.exit_code, none.stdout) == (1, "")
    assert "no jokers: no rack of 14 tiles can be so together with the others named" in none.stderr
    for wrong in ("gardens", "gardens:x", ":3"):
        assert run("compose", "--near", wrong).exit_code == 2
