"""Sheets: a teacher's whole job, racks changed, problems sent on without their answers."""

import csv
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, expect

from tests.clients.cli.test_class import logs_in
from tests.clients.conftest import RACK
from tests.clients.web.conftest import Visit, choose_card, post, tiles_in


def racks(page: Page) -> list[list[str]]:
    return [tiles_in(problem.locator(".tiles").first) for problem in page.locator(".problems > li").all()]


def test_a_teacher_makes_a_card_and_a_sheet_from_it_whole_job(visiting: Callable[..., Visit]) -> None:
    """From an empty profile: a card of one hand, three racks for it, title and class, the files."""
    visit = visiting(wide=768, high=1024, has_touch=True)
    page = visit.go()
    taps = 0

    def tap(*names: str) -> None:
        nonlocal taps
        for name in names:
            page.get_by_role("button", name=name, exact=True).tap()
            taps += 1

    for view in ("Cards", "Sheets"):
        page.get_by_role("link", name=view, exact=True).tap()
        taps += 1
        if view == "Cards":
            tap("Make a new card", "+ Add a hand", "4 of it", "n + 5", "another suit", "4 of it")
            tap("Flower", "6 of it")
            expect(page.locator(".total")).to_contain_text("14 of 14 tiles")
            tap("Use this card")
    page.get_by_label("How many").fill("3")
    page.get_by_label("Seed").fill("5")
    page.get_by_label("Title").fill("Lesson 1")
    page.get_by_label("Class or group").fill("Tuesday")
    tap("Make the sheet")
    expect(page.locator(".problems > li")).to_have_count(3)
    with page.expect_download() as download:
        tap("Key, web page")
    assert download.value.suggested_filename == "Lesson 1 key.html"
    text = download.value.path().read_text(encoding="utf-8")
    assert "Lesson 1 · Tuesday" in text
    assert "My card" in text
    assert taps == 13


def test_what_is_shown_and_saved_is_the_services_sheet(visit: Visit) -> None:
    page = visit.go("#/sheets")
    page.get_by_label("How many").fill("2")
    page.get_by_label("Seed").fill("5")
    page.get_by_role("button", name="Make the sheet").click()
    sheet: dict[str, Any] = post(visit.server, "/v1/sheets", seed=5, count=2, budget=200)["sheet"]
    expect(page.locator(".problems > li")).to_have_count(2)
    assert racks(page) == [each["rack"] for each in sheet["problems"]]
    page.get_by_role("button", name="Show the key").click()
    for shown, answer in zip(page.locator(".key-line").all(), sheet["key"], strict=True):
        assert answer["sentence"] in shown.inner_text()
    # One rack is changed, and the rest stays.
    page.get_by_role("button", name="Another rack for 1", exact=True).click()
    expect(page.locator(".notices")).not_to_contain_text("Changing")
    changed = racks(page)
    assert changed[0] != sheet["problems"][0]["rack"]
    assert changed[1] == sheet["problems"][1]["rack"]
    page.get_by_role("button", name="Type another rack for 2").click()
    page.get_by_label("The rack instead").fill(RACK)
    page.get_by_role("button", name="Take this rack").click()
    expect(page.get_by_label("The rack instead")).to_have_count(0)
    with page.expect_download() as download:
        page.get_by_role("button", name="Key, CSV").click()
    rows = list(csv.DictReader(download.value.path().read_text(encoding="utf-8-sig").splitlines()))
    assert [len(rows), rows[1]["rack"].split()] == [2, racks(page)[1]]


def test_faults_of_typed_racks_stand_with_their_lines(visit: Visit) -> None:
    page = visit.go("#/sheets")
    page.get_by_role("button", name="Type them").click()
    page.get_by_label("A rack a line").fill(f"Rack\n{RACK}; from the club\n\n2b 4x\n")
    page.get_by_role("button", name="Make the sheet").click()
    expect(page.locator(".sheets .faults li").first).to_contain_text("line 4: ")
    visit.expected_complaints("422")
    page.get_by_label("A rack a line").fill(f"Rack\n{RACK}; from the club\n")
    page.get_by_role("button", name="Make the sheet").click()
    expect(page.locator(".problems > li")).to_have_count(1)


def test_a_link_to_a_problem_keeps_its_answer_back(visiting: Callable[..., Visit]) -> None:
    visit = visiting(permissions=["clipboard-read", "clipboard-write"])
    page = visit.go("#/sheets")
    page.get_by_label("How many").fill("1")
    page.get_by_label("Seed").fill("5")
    page.get_by_role("button", name="Make the sheet").click()
    page.get_by_role("button", name="Link to 1 without the answer").click()
    expect(page.locator(".notices")).to_contain_text("Copied")
    link = str(page.evaluate("navigator.clipboard.readText()"))
    rack = racks(page)[0]
    other = visiting()
    other.page.goto(link)
    expect(other.page.locator(".my-pass")).to_have_attribute("open", "")
    expect(other.page.get_by_label("Rack", exact=True)).to_have_value(" ".join(rack))
    expect(other.page.locator(".answer")).to_have_count(0)
    other.page.get_by_role("button", name="Ask what to pass").click()
    expect(other.page.locator(".answer")).to_be_visible()


def test_racks_are_composed_for_a_lesson(visiting: Callable[..., Visit]) -> None:
    visit = visiting()
    page = visit.go("#/sheets")
    choose_card(page, "small")
    page.get_by_role("button", name="Type them").click()
    page.get_by_text("Racks for a lesson").click()
    page.get_by_label("Hand or family 1").select_option("mill pond")
    page.get_by_label("Tiles away 1").fill("5")
    page.get_by_label("Tiles in each rack").fill("5c 5c")
    for label, value in (("How many", "2"), ("Seed", "3"), ("Flowers", "1"), ("Tiles that differ", "6")):
        page.get_by_label(label).fill(value)
    page.get_by_role("button", name="Compose the racks").click()
    expect(page.get_by_label("A rack a line")).not_to_have_value("")
    near = [{"name": "mill pond", "away": 5}]
    wish = {"seed": 3, "count": 2, "near": near, "holds": "5c 5c", "flowers": 1, "apart": 6, "card": "small"}
    deals = post(visit.server, "/v1/compositions", **wish)["deals"]
    expect(page.get_by_label("A rack a line")).to_have_value("\n".join(" ".join(d["rack"]) for d in deals))
    page.get_by_label("Flowers").fill("8")
    page.get_by_label("Tiles in each rack").fill("NNNN EEEE")
    page.get_by_role("button", name="Compose the racks").click()
    expect(page.locator(".notice.bad")).to_contain_text("no rack of 14 tiles can be so together")
    page.get_by_role("button", name="Make the sheet").click()
    expect(page.locator(".problems > li")).to_have_count(2)
    assert racks(page) == [each["rack"] for each in deals]
    visit.expected_complaints("422")


def test_the_logs_of_a_class_are_one_table_on_a_phone(visiting: Callable[..., Visit], tmp_path: Path) -> None:
    visit = visiting(wide=360, high=740, has_touch=True, is_mobile=True)
    page = visit.go("#/sheets")
    page.get_by_text("A class", exact=True).tap()
    logs = [file for file in logs_in(tmp_path).iterdir() if file.suffix != ".md"]
    page.get_by_label("Logs of the pupils").set_input_files(logs)
    page.get_by_label("Deals").select_option("11")
    shown = page.locator(".class-table")
    talk = "Talk about problem 1 (first right) first: 2 of 3 passed otherwise, 40.0 % lost on average."
    expect(shown.locator("p").first).to_contain_text(talk)
    expect(page.locator(".sheets .notice.bad li")).to_have_text(
        ["Bo: line 2 is left out: not whole JSON (torn?)", "Bo: 1 lap without grades left out"]
    )
    rows = [row.inner_text().replace("\u00a0", " ").split("\t") for row in shown.locator("tbody tr").all()]
    assert rows[:3] == [
        ["Ann", "problem 2, 20.0 %", "10.0 %", "2"],
        ["Bo", "problem 1, 60.0 %", "40.0 %", "2"],
        ["Cem", "problem 1, 60.0 %", "30.0 %", "2"],
    ]
    assert rows[4] == ["5 crak, 8 dot, east wind", "Bo, Cem", "60.0 %"]
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    for name, form in (("Page to print", "html"), ("Table, CSV", "csv")):
        with page.expect_download() as download:
            page.get_by_role("button", name=name).tap()
        assert download.value.suggested_filename == f"class.{form}"
        assert "Cem" in download.value.path().read_text(encoding="utf-8")
    # Of all deals there is a third problem.
    page.get_by_label("Deals").select_option("")
    expect(shown.locator("h3")).to_have_count(3)
