"""A class on the same racks: who passed what, what it cost, and what to talk about, by hand."""

import csv
from typing import Any

import pytest

from tests.api.asking import Ask, Faults
from tests.api.test_progress import RACK, made

RIGHT = ["E", "W", "8d"]
BEST = ["2b", "4c", "8d"]


def tried(minute: int, **members: Any) -> dict[str, Any]:
    return made(at=f"2026-11-20T10:{minute:02}:00+00:00", **members)


LEFT = {"round": "first_left", "given": ["E"], "blind": 2}
WORSE = {"round": "first_left", "given": ["W"], "blind": 2, "share": 0.01}
CLASS = [
    {
        "name": "Cem",
        "passes": [
            tried(30, given=RIGHT, share=0.09, best=BEST),
            # He tries the first again, which does not count, and is the only one to have this card.
            tried(31, given=BEST, share=0.0),
            tried(32, card="small", share=0.5),
        ],
    },
    # The tiles of her rack and pass stand in another order.
    {"name": "Ann", "passes": [tried(2, **LEFT), tried(1, rack=RACK[::-1], given=RIGHT[::-1], share=0.09)]},
    {
        "name": "=Bo",
        "passes": [tried(11, given=BEST, share=0.0), tried(12, **WORSE)],
    },
    {"name": "Dee", "passes": []},
]


def test_a_table_by_hand(post: Ask) -> None:
    answer = post("/v1/classes", pupils=CLASS, files=True).json()
    assert answer == post("/v1/classes", pupils=CLASS[::-1], files=True).json()
    first, left = answer["problems"]
    assert (first["number"], first["best"], first["pupils"], first["otherwise"]) == (1, BEST, 3, 2)
    assert first["mean"] == pytest.approx(0.06)
    assert [(each["given"], each["lost"], each["pupils"]) for each in first["made"]] == [
        (BEST, 0.0, ["=Bo"]),
        (["8d", "E", "W"], 0.09, ["Ann", "Cem"]),
    ]
    # Of the left pass no log has the best: it is what lost nothing.
    assert (left["number"], left["best"], left["otherwise"], left["mean"]) == (2, ["E"], 1, 0.005)
    assert left["words"]["best"] == "east wind and 2 blind"
    told = {each["name"]: (each["passes"], each["mean"], each["worst"]) for each in answer["pupils"]}
    assert told == {"=Bo": (2, 0.005, 2), "Ann": (2, 0.045, 1), "Cem": (1, 0.09, 1), "Dee": (0, None, None)}
    assert (answer["alone"], answer["again"]) == (1, 1)
    assert answer["words"]["talk"] == (
        "Talk about problem 1 (first right) first: 2 of 3 passed otherwise, 6.0 % lost on average."
    )
    assert answer["words"]["not_counted"].count("1 pass of racks") == 2

    rows = list(csv.DictReader(answer["csv"].splitlines()))
    assert [(row["number"], row["pupil"], row["pass"], float(row["lost"])) for row in rows] == [
        ("1", "'=Bo", "2b 4c 8d", 0.0),
        ("1", "Ann", "8d E W", 0.09),
        ("1", "Cem", "8d E W", 0.09),
        ("2", "Ann", "E", 0.0),
        ("2", "'=Bo", "W", 0.01),
    ]
    assert "problem 2, 1.0 %" in answer["html"] and "Ann, Cem" in answer["html"]


def test_nothing_to_compare_and_nothing_lost(post: Ask) -> None:
    one = post("/v1/classes", pupils=[{"name": "Ann", "passes": [tried(1, share=0.3)]}]).json()
    assert (one["problems"], one["alone"], one["csv"], one["html"]) == ([], 1, None, None)
    assert one["words"]["talk"].startswith("No two pupils passed the same rack")
    both = post("/v1/classes", pupils=[{"name": each, "passes": [tried(1)]} for each in "AB"]).json()
    assert both["words"]["talk"] == "Every pass was as good as the best."


def test_names_that_stand_twice_and_too_many_pupils(post: Ask, faults: Faults) -> None:
    pupils = [{"name": each, "passes": []} for each in ("Ann", "Bo", "Ann")]
    assert faults(post("/v1/classes", pupils=pupils)) == ["#/pupils/2/name same-name"]
    assert faults(post("/v1/classes", pupils=[{**pupils[0], "name": str(n)} for n in range(101)])) == [
        "#/pupils too-long"
    ]
