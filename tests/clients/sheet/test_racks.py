from pathlib import Path

import pytest

from clients.cli.exits import UsageFault
from clients.cli.sheets.racks import MOST_RACKS, OwnRack, racks_in

RACK = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"
OTHER = "1b, 1b, 2b, 3c, 3c, 4d, 7d, 9d, N, S, red, F, J"


def found(text: str | bytes) -> list[OwnRack]:
    return racks_in(text if isinstance(text, bytes) else text.encode(), "racks.txt")


def test_lines_of_text() -> None:
    assert found(f"{RACK}\r\n\n  {OTHER}  \n") == [OwnRack("line 1", RACK), OwnRack("line 3", OTHER)]
    assert found(b"\xef\xbb\xbf" + RACK.encode()) == [OwnRack("line 1", RACK)]


def test_json_lines() -> None:
    text = f'"{RACK}"\n["2b", "J"]\n\n{{"rack": "{RACK}", "round": "First-Left"}}\n{{"rack": "{RACK}"}}\n5\n'
    assert found(text) == [
        OwnRack("line 1", RACK),
        OwnRack("line 2", ["2b", "J"]),
        OwnRack("line 4", {"rack": RACK, "round": "first_left"}),
        OwnRack("line 5", {"rack": RACK}),
        OwnRack("line 6", 5),
    ]


@pytest.mark.parametrize("header", ["rack,round", '"rack","round"', " Rack , ROUND "])
def test_a_table(header: str) -> None:
    text = f'{header}\n"{OTHER}",courtesy\n\n{RACK},\n{RACK}\n'
    assert found(text) == [
        OwnRack("line 2", {"rack": OTHER, "round": "courtesy"}),
        OwnRack("line 4", {"rack": RACK}),
        OwnRack("line 5", {"rack": RACK}),
    ]


def test_a_table_of_one_column_and_of_many() -> None:
    assert found(f"rack\r\n{RACK}\r\n") == [OwnRack("line 2", {"rack": RACK})]
    table = f"number,seed,deal,round,rack,pass,notes\r\n1,5,2,first_right,{RACK},,\r\n"
    assert found(table) == [OwnRack("line 2", {"rack": RACK, "round": "first_right"})]


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("", ["racks.txt: no racks"]),
        (" \n\n", ["racks.txt: no racks"]),
        ("rack,round\n", ["racks.txt: no racks"]),
        (b"\xff", ["racks.txt: not UTF-8 at byte 0"]),
        ('"a"\nnope\n{"x": NaN}\n', ["racks.txt: line 2: not JSON", "racks.txt: line 3: not JSON"]),
        ("F\n" * (MOST_RACKS + 1), ["racks.txt: 501 racks: a sheet has at most 500"]),
    ],
)
def test_faults(text: str | bytes, faults: list[str]) -> None:
    with pytest.raises(UsageFault) as caught:
        found(text)
    assert list(caught.value.lines) == faults


@pytest.mark.parametrize(
    "text", [f"rack,round\n{RACK},nope\n{RACK},last\n", f'"{RACK}"\n{{"round": "nope"}}\n{{"round": "last"}}']
)
def test_every_round_that_is_none_is_named(text: str) -> None:
    with pytest.raises(UsageFault) as caught:
        found(text)
    assert [line.partition(" is none of")[0] for line in caught.value.lines][-1].endswith("line 3: 'last'")
    assert len(caught.value.lines) == 2


def test_the_problems_of_a_sheet_are_racks_again(tmp_path: Path) -> None:
    path = tmp_path / "problems.csv"
    path.write_bytes(f"number,seed,deal,round,rack,pass,notes\r\n1,,,courtesy,{RACK},,\r\n".encode())
    assert racks_in(path.read_bytes(), "a") == [OwnRack("line 2", {"rack": RACK, "round": "courtesy"})]
