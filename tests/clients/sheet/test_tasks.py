import json
from typing import Any

import pytest

from clients.cli.exits import UnreachableError
from clients.cli.sheets.racks import OwnRack
from clients.cli.sheets.tasks import Batch

RACKS = (OwnRack("line 1", "a"), OwnRack("line 2", {"rack": "b"}))
DEALT = Batch({"seed": 5, "round": "courtesy"}, None, count=2, start=7, most=10)
OWN = Batch({"card": "small"}, RACKS, count=2, start=0, most=2)


def sheet(*indexes: int, version: str = "1") -> dict[str, Any]:
    problems = [{"number": 1, "index": index} for index in indexes]
    key = [{"number": 1, "pass": [str(index)]} for index in indexes]
    return {"problems": problems, "key": key, "versions": version, "complete": True, "tried": 1}


def test_a_task_is_one_rack_or_one_deal() -> None:
    assert json.loads(DEALT.body(2)) == {
        "seed": 5,
        "round": "courtesy",
        "start": 9,
        "count": 1,
        "budget": 1,
    }
    assert json.loads(OWN.body(1)) == {"card": "small", "racks": [{"rack": "b"}]}


def test_only_answers_without_a_gap_count() -> None:
    found = {0: sheet(), 2: sheet(9), 3: sheet(10)}
    assert not DEALT.enough(found)
    found[1] = sheet(8)
    assert DEALT.enough(found)
    merged = DEALT.merged(found)
    assert [each["index"] for each in merged["problems"]] == [8, 9]
    assert [each["number"] for each in merged["problems"]] == [1, 2]
    assert [(each["number"], each["pass"]) for each in merged["key"]] == [(1, ["8"]), (2, ["9"])]
    assert (merged["complete"], merged["tried"]) == (True, 3)


def test_the_budget_may_end_before_enough_is_found() -> None:
    found = {task: sheet() for task in range(10)}
    found[4] = sheet(11)
    assert DEALT.enough(found)
    merged = DEALT.merged(found)
    assert (len(merged["problems"]), merged["complete"], merged["tried"]) == (1, False, 10)


def test_versions_are_not_mixed() -> None:
    with pytest.raises(UnreachableError, match="two versions"):
        OWN.merged({0: sheet(0), 1: sheet(1, version="2")})


def test_the_digest_is_of_the_whole_request() -> None:
    others = [
        Batch({"seed": 6, "round": "courtesy"}, None, 2, 7, 10),
        Batch({"seed": 5}, None, 2, 7, 10),
        Batch({"seed": 5, "round": "courtesy"}, None, 3, 7, 10),
        Batch({"seed": 5, "round": "courtesy"}, None, 2, 8, 10),
        Batch({"seed": 5, "round": "courtesy"}, None, 2, 7, 11),
        OWN,
        Batch({"card": "small"}, RACKS[:1], 2, 0, 2),
    ]
    assert len({each.digest for each in [DEALT, *others]}) == len(others) + 1
    assert Batch({"round": "courtesy", "seed": 5}, None, 2, 7, 10).digest == DEALT.digest
    moved = (OwnRack("line 8", "a"), OwnRack("line 9", {"rack": "b"}))
    assert Batch({"card": "small"}, moved, 2, 0, 2).digest == OWN.digest
