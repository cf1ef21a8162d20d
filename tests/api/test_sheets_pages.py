"""`POST /v1/sheets/pages`: media types, headers, what is refused, and what is missing on a server."""

import json
import sys
from collections.abc import Callable
from copy import deepcopy
from typing import Any

import httpx2
import pytest

from api.app import create_app
from api.convert.pages import pages_of
from api.routes import examples
from api.settings import Settings
from api.sheets.files import file_of
from api.wire.sheets import MAX_PRINTED, MAX_PROBLEMS
from tests.printing import needs_weasyprint

Post = Callable[..., httpx2.Response]
Faults = Callable[[httpx2.Response], list[tuple[str, str]]]
PATH = "/v1/sheets/pages"


@pytest.fixture
def sheet() -> dict[str, Any]:
    found: dict[str, Any] = deepcopy(examples.SHEET_PAGES["key_as_table"]["sheet"])  # type: ignore[index]
    return found


@pytest.mark.parametrize("part", ["problems", "key"])
@pytest.mark.parametrize(
    ("form", "media_type"),
    [("html", "text/html; charset=utf-8"), ("csv", "text/csv; charset=utf-8"), ("pdf", "application/pdf")],
)
def test_a_file(post: Post, sheet: dict[str, Any], form: str, media_type: str, part: str) -> None:
    if form == "pdf":
        needs_weasyprint()
    asked = {"sheet": sheet, "format": form, "part": part}
    response = post(PATH, **asked)
    assert response.status_code == 200, response.text
    assert response.headers["content-type"] == media_type
    assert response.headers["content-disposition"] == f'attachment; filename="{part}.{form}"'
    assert "sandbox" in response.headers["content-security-policy"]
    assert response.headers["x-content-type-options"] == "nosniff"
    assert response.content == file_of(pages_of(asked)).content


def test_a_sheet_as_it_was_answered_is_taken_back(post: Post) -> None:
    for asked in (
        {"seed": 5, "count": 2, "card": "small", "drill": {"exchanges_left": 2}},
        {"racks": ["2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"], "card": "small", "round": "courtesy"},
    ):
        found = post("/v1/sheets", **asked).json()["sheet"]
        for part in ("problems", "key"):
            response = post(PATH, sheet=found, format="html", part=part)
            assert response.status_code == 200, response.text
            assert f"card {found['card']['title']}" in response.text


def test_paper(post: Post, sheet: dict[str, Any]) -> None:
    a4, letter = (
        post(PATH, sheet=sheet, format="html", part="key", paper=paper).text for paper in ("a4", "letter")
    )
    assert a4.replace("size: A4;", "size: letter;") == letter != a4


def test_as_many_problems_as_allowed(post: Post, faults: Faults, sheet: dict[str, Any]) -> None:
    def many(count: int) -> dict[str, Any]:
        numbers = range(1, count + 1)
        return {
            **sheet,
            "problems": [{**sheet["problems"][0], "number": number} for number in numbers],
            "key": [{**sheet["key"][0], "number": number} for number in numbers],
        }

    response = post(PATH, sheet=many(MAX_PROBLEMS), format="csv", part="key")
    assert len(response.text.splitlines()) == MAX_PROBLEMS + 1
    assert faults(post(PATH, sheet=many(MAX_PROBLEMS + 1), format="csv", part="key")) == [
        ("#/sheet/problems", "too-long"),
        ("#/sheet/key", "too-long"),
    ]


def test_more_than_goes_into_one_pdf(post: Post, faults: Faults, sheet: dict[str, Any]) -> None:
    problems = [{**sheet["problems"][0], "number": number} for number in range(1, MAX_PRINTED + 2)]
    asked = {"sheet": {**sheet, "problems": problems, "key": []}, "part": "problems"}
    assert faults(post(PATH, **asked, format="pdf")) == [("#/sheet/problems", "too-long")]
    assert post(PATH, **asked, format="html").status_code == 200


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (lambda s: s["problems"][0]["rack"].__setitem__(0, "zebra"), [("problems/0/rack/0", "enum")]),
        (lambda s: s["problems"][0].update(rack=["2b"] * 14), [("problems/0/rack", "too-many-copies")]),
        (lambda s: s["problems"][0].update(rack=["2b"]), [("problems/0/rack", "too-short")]),
        (lambda s: s["problems"].append(s["problems"][0]), [("problems", "numbers"), ("key", "numbers")]),
        (lambda s: s["key"][0].update(number=2), [("key", "numbers")]),
        (lambda s: s["problems"].clear(), [("key", "numbers")]),
        (lambda s: s["key"][0].update(sentence="a\nb"), [("key/0/sentence", "string-pattern-mismatch")]),
        (lambda s: s["key"][0].update(sentence="a" * 1001), [("key/0/sentence", "string-too-long")]),
        (lambda s: s["key"][0]["hands"][0].update(reach=1.5), [("key/0/hands/0/reach", "less-than-equal")]),
        (lambda s: s["key"][0].update(gap="0.1"), [("key/0/gap", "float-type")]),
        (lambda s: s["key"][0].update(call="maybe"), [("key/0/call", "enum")]),
        (lambda s: s["key"][0].pop("pass"), [("key/0/pass", "missing")]),
        (lambda s: s["card"].update(title=""), [("card/title", "string-too-short")]),
        (lambda s: s["card"].update(title="\ud800"), [("card/title", "string-unicode")]),
        (lambda s: s.update(hat=1), [("hat", "extra-forbidden")]),
    ],
)
def test_faults_of_a_sheet(
    post: Post,
    faults: Faults,
    sheet: dict[str, Any],
    change: Callable[[dict[str, Any]], object],
    expected: list[tuple[str, str]],
) -> None:
    change(sheet)
    response = post(PATH, sheet=sheet, format="html", part="key")
    assert faults(response) == [(f"#/sheet/{place}", kind) for place, kind in expected]


@pytest.mark.parametrize(
    ("members", "expected"),
    [
        ({"format": "doc"}, [("#/format", "enum")]),
        ({"part": "all"}, [("#/part", "enum")]),
        ({"paper": "a5"}, [("#/paper", "enum")]),
        ({"sheet": None}, [("#/sheet", "model-type")]),
    ],
)
def test_faults(
    post: Post,
    faults: Faults,
    sheet: dict[str, Any],
    members: dict[str, Any],
    expected: list[tuple[str, str]],
) -> None:
    assert faults(post(PATH, **{"sheet": sheet, "format": "html", "part": "key", **members})) == expected


def test_a_sheet_without_a_key_has_no_key_to_print(post: Post, faults: Faults, sheet: dict[str, Any]) -> None:
    sheet["key"] = []
    assert post(PATH, sheet=sheet, format="html", part="problems").status_code == 200
    assert faults(post(PATH, sheet=sheet, format="html", part="key")) == [("#/part", "no-key")]


def test_pdf_without_what_draws_it(
    post: Post, sheet: dict[str, Any], problem: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    found = problem(post(PATH, sheet=sheet, format="pdf", part="key"), "not-installed")
    assert found["detail"] == (
        "PDF needs WeasyPrint and Pango on the server: ask for html, which prints the same pages"
    )


def test_a_body_of_a_whole_sheet_fits() -> None:
    """A sheet of the full card as large as any stays below the usual limit on bodies."""
    from starlette.testclient import TestClient

    with TestClient(create_app(Settings(threads=1))) as client:
        found = client.post("/v1/sheets", json={"seed": 5, "count": 5, "round": "first_left"}).json()["sheet"]
    asked = {"sheet": found, "format": "pdf", "part": "key", "paper": "letter"}
    size = len(json.dumps(asked, separators=(",", ":")))
    assert size / len(found["problems"]) * MAX_PROBLEMS < Settings().body_limit
