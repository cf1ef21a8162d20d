import json

import pytest

from clients.cli.exits import RefusedError, UnreachableError
from clients.cli.problems import answer_of, lines_of, object_of, place_of
from clients.cli.transport import Reply


@pytest.mark.parametrize(
    ("pointer", "place"),
    [
        ("#/rack", "rack"),
        ("#/rack/12", "rack, item 13"),
        ("#/limits/stay", "limits, stay"),
        ("#/limits/weights/Half%20Moon", "limits, weights, Half Moon"),
        ("#/limits/weights/a~1b~0c", "limits, weights, a/b~c"),
        ("#/card/hand/3/groups", "card"),
        ("#/", ""),
        ("#", ""),
        ("", ""),
    ],
)
def test_pointers_become_words(pointer: str, place: str) -> None:
    assert place_of(pointer) == place


def test_every_fault_is_one_line() -> None:
    errors = [
        {"pointer": "#/rack", "detail": "column 6: '3x' is not a tile", "type": "unknown-tile"},
        {"pointer": "#/give", "detail": "two\nlines", "type": "give"},
        {"pointer": "", "detail": "no place", "type": "x"},
    ]
    reply = Reply(422, json.dumps({"title": "Invalid", "errors": errors}).encode())
    assert lines_of(reply) == ["rack: column 6: '3x' is not a tile", "give: two lines", "no place"]


@pytest.mark.parametrize(
    ("body", "line"),
    [
        (b'{"detail": "busy now", "title": "Busy", "errors": []}', "busy now"),
        (b'{"title": "Busy"}', "Busy"),
        (b"<html>", "the server answered 502"),
        (b"[1]", "the server answered 502"),
        (b'{"errors": "none"}', "the server answered 502"),
        (b"\xff", "the server answered 502"),
        (b"[" * 100_000, "the server answered 502"),
    ],
)
def test_without_faults_the_problem_itself_is_the_line(body: bytes, line: str) -> None:
    assert lines_of(Reply(502, body)) == [line]


def test_an_answer_is_an_object() -> None:
    assert answer_of(Reply(200, b'{"a": 1}')) == {"a": 1}
    assert object_of(b"[1]") is None
    with pytest.raises(UnreachableError, match="the answer is not"):
        answer_of(Reply(200, b"<html>"))
    with pytest.raises(RefusedError, match=r"^no$"):
        answer_of(Reply(422, b'{"detail": "no"}'))
