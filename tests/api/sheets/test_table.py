import csv
import io
from typing import Any

from api.sheets.files import file_of


def rows(asked: Any, part: str, **members: Any) -> list[dict[str, str]]:
    content = file_of(asked("csv", part, **members)).content
    assert content.count(b"\n") == content.count(b"\r\n")
    return list(csv.DictReader(io.StringIO(content.decode(), newline="")))


def test_the_problems_are_racks_with_space(asked: Any) -> None:
    (row,) = rows(asked, "problems")
    assert row == {
        "number": "1",
        "seed": "5",
        "deal": "0",
        "round": "first_right",
        "rack": "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J",
        "pass": "",
        "notes": "",
    }


def test_the_key_has_every_number(asked: Any) -> None:
    (row,) = rows(asked, "key")
    assert row["pass"] == "4c 6c E"
    assert float(row["expected_hands"]) == 0.512
    assert (row["runner_up_2"], float(row["gap_2"])) == ("4c E W", 0.011)
    assert (row["hand_1"], row["family_1"], float(row["reach_1"])) == ("Steep Path", "ladders", 0.11)
    assert row["hand_2"] == row["reach_3"] == row["given_up_2"] == ""
    assert (row["given_up_1"], float(row["given_up_from_1"]), float(row["given_up_to_1"])) == (
        "Twin Pears",
        0.04,
        0.01,
    )
    assert row["sentence"].startswith("Giving west wind")
    assert (row["card"], row["threepass"], row["ortools"]) == ("Orchard", "0.1.0", "9.15.6755")


def test_missing_parts_keep_the_columns(asked: Any, example: dict[str, Any]) -> None:
    bare = {"pass": [], "runner_ups": [], "gap": None, "call": None, "hands": [], "given_up": []}
    first, second = rows(asked, "key")[0], rows(asked, "key", key=[{**example["key"][0], **bare}])[0]
    assert first.keys() == second.keys()
    assert second["runner_up_1"] == second["call"] == second["pass"] == ""
    assert second["sentence"] == first["sentence"]
    assert None not in second


def test_a_spreadsheet_finds_no_formula(asked: Any, example: dict[str, Any]) -> None:
    for start in "=+-@":
        hand = {**example["key"][0]["hands"][0], "name": f"{start}1+1"}
        answer = {**example["key"][0], "hands": [hand], "sentence": f'{start}HYPERLINK("x", 2)'}
        (row,) = rows(asked, "key", key=[answer], card={"name": "a", "title": f"{start}a"})
        assert row["hand_1"] == f"'{start}1+1"
        assert row["sentence"] == f'\'{start}HYPERLINK("x", 2)'
        assert row["card"] == f"'{start}a"


def test_an_empty_sheet_is_a_header(asked: Any) -> None:
    assert rows(asked, "key", problems=[], key=[]) == []
