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
CLASS = {
    "Cem": [
        tried(30, given=RIGHT, share=0.09, best=BEST),
        # He tries the first again, which does not count, and is the only one to have this card.
        tried(31, given=BEST, share=0.0),
        tried(32, card="small", share=0.5),
    ],
    # The tiles of her rack and pass stand in another order.
    "Ann": [tried(2, **LEFT), tried(1, rack=RACK[::-1], given=RIGHT[::-1], share=0.09)],
    "=Bo": [tried(11, given=BEST, share=0.0), tried(12, **WORSE)],
    "Dee": [],
}
BACKWARDS = {name: CLASS[name][::-1] for name in reversed(CLASS)}


def test_a_table_by_hand(post: Ask) -> None:
    answer = post("/v1/classes", pupils=CLASS, files=True).json()
    assert answer == post("/v1/classes", pupils=BACKWARDS, files=True).json()
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
    assert answer["not_counted"] == 2
    assert answer["words"]["talk"] == (
        "Talk about problem 1 (first right) first: 2 of 3 passed otherwise, 6.0 % lost on average."
    )
    assert str(answer["words"]["not_counted"]).startswith("Not counted: 2 passes")

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
    one = post("/v1/classes", pupils={"Ann": [tried(1, share=0.3)]}).json()
    assert (one["problems"], one["not_counted"], one["csv"], one["html"]) == ([], 1, None, None)
    assert one["words"]["talk"].startswith("No two pupils passed the same rack")
    both = post("/v1/classes", pupils={each: [tried(1)] for each in "AB"}).json()
    assert both["words"]["talk"] == "Every pass was as good as the best."


def test_what_is_no_class(post: Ask, faults: Faults) -> None:
    assert faults(post("/v1/classes", pupils={"Ann": [made()] * 2_001})) == ["#/pupils/Ann too-long"]
    assert faults(post("/v1/classes", pupils={str(number): [] for number in range(101)})) == [
        "#/pupils too-long"
    ]
    assert len(faults(post("/v1/classes", pupils={"": [], "Bo": [tried(1, share=2)]}))) == 2
