import json
from pathlib import Path
from typing import Any

import pytest

from clients.cli.exits import UsageFault
from clients.cli.records import MAX_FILE, Written, content_of, written_in
from tests.clients.laps import impossible, json_lines, lap, logged


def bodies(written: Written) -> list[Any]:
    return [json.loads(entry.body) for entry in written.entries]


def places(written: Written) -> list[str]:
    return [entry.place for entry in written.entries]


def test_one_record_is_a_document() -> None:
    for indent in (None, 2):
        written = written_in(json.dumps(lap(), indent=indent).encode(), None, None)
        assert (written.lines, written.whole, places(written)) == (False, None, [""])
        assert bodies(written) == [{"records": [lap()]}]


def test_many_records_in_one_object() -> None:
    whole = {"records": [lap(), impossible()], "effort": 2.5}
    written = written_in(json.dumps(whole, indent=1).encode(), None, 4.0)
    assert written.whole is not None
    # What the file says goes before the option.
    assert json.loads(written.whole) == whole
    assert (written.lines, places(written)) == (False, ["record 1", "record 2"])
    assert bodies(written) == [{"records": [record], "effort": 2.5} for record in whole["records"]]


def test_lines_with_blank_ones_between() -> None:
    content = f"\n{json_lines(lap())}  \r\n{json_lines(impossible())}".encode()
    written = written_in(content, None, None)
    assert (written.lines, written.whole) == (True, None)
    assert places(written) == ["line 2", "line 4"]
    assert bodies(written) == [{"records": [lap()]}, {"records": [impossible()]}]


def test_a_card_and_an_effort_for_those_that_name_none() -> None:
    content = json_lines(lap(card=None), lap(card="full")).encode()
    first, second = bodies(written_in(content, "small", 2.0))
    assert (first["records"][0]["card"], first["effort"]) == ("small", 2.0)
    assert (second["records"][0]["card"], second["effort"]) == ("full", 2.0)
    (alone,) = bodies(written_in(json.dumps(lap(card=None)).encode(), {"toml": "x"}, None))
    assert alone["records"][0]["card"] == {"toml": "x"}


def test_lines_of_a_practice_log() -> None:
    content = json_lines(logged(lap()), logged(lap(), finished=False), lap(), logged(None)).encode()
    written = written_in(content, None, None)
    assert written.lines
    assert written.skipped == ("line 2",)
    assert places(written) == ["line 1", "line 3", "line 4"]
    assert [body["records"] for body in bodies(written)] == [[lap()], [lap()], [None]]


def test_a_log_of_one_lap_is_still_lines() -> None:
    written = written_in(json.dumps(logged(lap())).encode(), None, None)
    assert (written.lines, bodies(written)) == (True, [{"records": [lap()]}])


@pytest.mark.parametrize("faulty", [b"not json", b'{"rack": ', b"\xff", b'{"rack": NaN}', b'{"a": 1e999}'])
def test_a_faulty_line_among_good_ones_goes_to_the_service_as_it_is(faulty: bytes) -> None:
    written = written_in(faulty + b"\n" + json_lines(lap()).encode(), None, None)
    assert (written.lines, places(written)) == (True, ["line 1", "line 2"])
    assert written.entries[0].body == faulty.strip()


@pytest.mark.parametrize(
    "content",
    [b"not json", b'{"rack":\n "F",\n}', b'[\n  {"rack": "F"},\n', b'{"records": [\n {"rack": "F"}\n'],
)
def test_what_is_neither_is_a_document_for_the_service_to_refuse(content: bytes) -> None:
    written = written_in(content, None, None)
    assert (written.lines, [entry.body for entry in written.entries]) == (False, [content])


@pytest.mark.parametrize("whole", [{"records": []}, {"records": 3}, {"records": {}}])
def test_an_object_without_records_goes_to_the_service_as_it_is(whole: dict[str, Any]) -> None:
    written = written_in(json.dumps(whole).encode(), "small", None)
    assert (written.whole, bodies(written)) == (None, [whole])


@pytest.mark.parametrize("content", [b"", b"\n \n"])
def test_nothing_is_no_laps(content: bytes) -> None:
    assert written_in(content, None, None) == Written((), None, lines=True)


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(UsageFault, match=r"none\.json: No such file"):
        content_of(str(tmp_path / "none.json"))
    with pytest.raises(UsageFault, match="directory"):
        content_of(str(tmp_path))
    with pytest.raises(UsageFault, match="null"):
        content_of("a\0b")
    large = tmp_path / "large.json"
    with large.open("wb") as file:
        file.truncate(MAX_FILE + 1)
    with pytest.raises(UsageFault, match="over 50,000,000 bytes"):
        content_of(str(large))
