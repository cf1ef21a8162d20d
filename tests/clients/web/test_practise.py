"""Practising, start to end, in a real browser, by touch and by keyboard."""

import json
import subprocess
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from click.testing import Result
from playwright.sync_api import Page, expect

from clients.cli.render.words import fine, percent, tile_words
from clients.cli.times import clock
from tests.clients.web.asking import post
from tests.clients.web.conftest import Visit
from tests.clients.web.practising import after, begun, choose, deal_of, dealt, rack_of, send

Run = Callable[..., Result]
LOG = "localStorage.getItem('threepass.log')"


def log_of(page: Page) -> list[dict[str, Any]]:
    return [json.loads(line) for line in str(page.evaluate(LOG)).splitlines()]


def test_a_lap_by_touch_with_a_blind_and_a_courtesy_pass(visiting: Callable[..., Visit]) -> None:
    visit = visiting(wide=360, high=740, has_touch=True, is_mobile=True)
    deal = deal_of(visit.server, 4)
    page = dealt(visit, courtesy=True)
    assert page.locator(".tile-button").count() == 0
    page.get_by_role("button", name="Start the clock").tap()
    rack = rack_of(page)
    assert Counter(rack) == Counter(deal["rack"])

    made = []
    for number, (own, blind) in enumerate(((3, 0), (3, 0), (1, 2), (2, 0))):
        for _ in range(blind):
            page.get_by_role("button", name="One more blind").tap()
        tiles = page.locator(".tile-button:not([data-token=J])")
        for at in range(own):
            tiles.nth(at).tap()
        given = [token for token in rack if token != "J"][:own]
        page.locator(".controls .primary").tap()
        received = deal["heap"][3 * number : 3 * number + own]
        made.append((given, received, blind))
        if number < 3:
            words = ", ".join(tile_words(token) for token in received)
            expect(page.locator(".came")).to_contain_text(f"Came in: {words}.")
            assert Counter(rack_of(page)) == after(rack, given, received)
            rack = rack_of(page)
    expect(page.locator(".review")).to_be_visible()

    (line,) = log_of(page)
    assert (line["client"], line["seed"], line["deal"], line["finished"]) == ("web", 11, deal["index"], True)
    exchanges = line["record"]["exchanges"]
    names = ["first_right", "first_across", "first_left", "courtesy"]
    assert [each["round"] for each in exchanges] == names
    assert [(each["given"], each["received"], each["blind"]) for each in exchanges] == made
    assert all(each["seconds"] > 0 for each in exchanges)


def test_the_review_has_the_numbers_of_the_service(visit: Visit) -> None:
    page = begun(visit)
    for _ in range(3):
        choose(page, 3)
        send(page)
    expect(page.locator(".review")).to_be_visible()
    (line,) = log_of(page)
    answer = post(visit.server, "/v1/reviews", records=[line["record"]])
    review, session = answer["reviews"][0], answer["session"]
    assert line["result"] == {
        "given_up": review["given_up"],
        "share_within_resolution": session["within_resolution"],
        "tiles_away": review["tiles_away"],
        "seconds": review["seconds"],
        "pace": review["pace"],
    }
    cells = page.get_by_role("region", name="This lap and the average").locator("tbody td:nth-child(2)")
    assert cells.all_inner_texts() == [
        clock(review["seconds"]),
        review["pace"],
        fine(review["given_up"]),
        percent(session["within_resolution"]),
        str(review["tiles_away"]),
    ]
    for shown, graded in zip(page.locator(".graded").all(), review["passes"], strict=True):
        good = "as good as the best"
        lost = f"gave up {fine(graded['given_up'])} ({percent(graded['share'])})"
        assert (good if graded["within_resolution"] else lost) in shown.locator(".grade").inner_text()
        assert shown.locator(".took").inner_text() == clock(graded["seconds"])
        assert shown.locator("p").inner_text() == graded["why"]
        best = ", ".join(map(tile_words, graded["best"]["pass"]))
        assert best in shown.locator("dd").nth(1).inner_text()


def test_a_lap_by_keyboard_alone(visit: Visit) -> None:
    page = visit.go("#/practise")
    keys = page.keyboard
    # Seed and start stay empty: the deal is any, and the lap must be right whatever it is.
    page.get_by_label("Rounds").focus()
    page.get_by_role("button", name="Deal", exact=True).focus()
    keys.press("Enter")
    expect(page.get_by_role("button", name="Start the clock")).to_be_focused()
    keys.press("Enter")
    for number in range(3):
        expect(page.locator(".play h2")).to_contain_text(f"Round {number + 1} of 3")
        rack = rack_of(page)
        keys.press("Home")
        wanted = 2 if number == 2 else 3
        for _ in range(wanted):
            keys.press("Space")
            keys.press("ArrowRight")
        if number == 2:
            keys.press("b")
            expect(page.locator(".stepper-value")).to_have_text("1 blind")
        chosen = page.locator(".tile-button[aria-pressed=true]").count()
        assert chosen == wanted, rack
        keys.press("s" if number else "Control+Enter")
    expect(page.get_by_role("heading", name="Review")).to_be_focused()
    expect(page.locator(".graded")).to_have_count(3)


def test_what_the_rules_forbid_is_told_and_the_clock_runs(visit: Visit) -> None:
    page = begun(visit)
    fault = page.locator(".pass-fault")
    choose(page, 2)
    # Playwright takes aria-disabled for disabled and would wait; a person may press, and is told why not.
    page.locator(".controls .primary").click(force=True)
    expect(fault).to_have_text("2 tiles chosen: first right takes exactly 3. The clock runs.")
    page.locator(".tile-button[data-token=J]").first.click()
    expect(fault).to_have_text("A joker may never be passed.")
    page.locator(".tile-button:not([data-token=J])").nth(2).click()
    page.locator(".tile-button:not([data-token=J])").nth(3).click()
    expect(fault).to_contain_text("Three are chosen already")
    page.keyboard.press("b")
    expect(fault).to_have_text("first right allows no blind pass.")
    page.keyboard.press("Escape")
    assert page.locator(".tile-button[aria-pressed=true]").count() == 0
    first = page.locator(".clock").inner_text()
    expect(page.locator(".clock")).not_to_have_text(first)


def test_a_pause_hides_the_rack_and_stops_the_clock(visit: Visit) -> None:
    page = begun(visit)
    chosen = choose(page, 2)
    rack = rack_of(page)
    page.get_by_role("button", name="Pause").click()
    assert page.locator(".tile-button").count() == 0
    assert page.locator(".tile-back").count() == 14
    assert not any(tile_words(token) in page.locator(".play").inner_text() for token in chosen)
    stood = page.locator(".clock").inner_text()
    page.wait_for_timeout(400)
    assert page.locator(".clock").inner_text() == stood
    page.get_by_role("button", name="Go on").click()
    assert rack_of(page) == rack
    assert page.locator(".tile-button[aria-pressed=true]").count() == 2


def test_a_page_that_cannot_be_seen_is_paused(visit: Visit) -> None:
    page = begun(visit)
    page.evaluate(
        "() => { Object.defineProperty(document, 'visibilityState', { value: 'hidden' });"
        " document.dispatchEvent(new Event('visibilitychange')); }"
    )
    expect(page.get_by_role("button", name="Go on")).to_be_visible()
    assert page.locator(".tile-button").count() == 0


def test_a_lap_goes_on_after_a_reload_where_it_was(visit: Visit) -> None:
    deal = deal_of(visit.server, 3)
    page = begun(visit)
    first = choose(page, 3)
    send(page)
    rack = rack_of(page)
    chosen = choose(page, 2)
    page.wait_for_timeout(300)
    page.reload()
    expect(page.locator(".practise > .notices")).to_contain_text("A lap was under way")
    assert page.locator(".tile-button").count() == 0
    stood = page.locator(".clock").inner_text()
    assert stood != "0:00.0"
    page.get_by_role("button", name="Go on").click()
    assert rack_of(page) == rack
    assert Counter(rack) == after(deal["rack"], first, deal["heap"][:3])
    pressed = page.locator(".tile-button[aria-pressed=true]")
    assert pressed.evaluate_all("a => a.map(e => e.dataset.token)") == chosen
    page.locator(".tile-button:not([data-token=J]):not([aria-pressed=true])").first.click()
    send(page)
    choose(page, 3)
    send(page)
    expect(page.locator(".graded")).to_have_count(3)
    (line,) = log_of(page)
    assert [len(each["given"]) for each in line["record"]["exchanges"]] == [3, 3, 3]
    # The time before the reload counts, the time away does not.
    before = float(stood.split(":")[1])
    assert line["record"]["exchanges"][1]["seconds"] >= before
    page.reload()
    expect(page.get_by_role("heading", name="A new lap")).to_be_visible()
    assert len(log_of(page)) == 1


def test_a_lap_that_is_stopped_is_logged_as_not_finished(visit: Visit) -> None:
    page = begun(visit)
    choose(page, 3)
    send(page)
    page.keyboard.press("p")
    page.get_by_role("button", name="Stop the lap").click()
    expect(page.locator(".practise > .notices")).to_contain_text("counts in no average")
    (line,) = log_of(page)
    assert (line["finished"], line["result"], len(line["record"]["exchanges"])) == (False, None, 1)
    expect(page.locator(".history")).to_contain_text("1 lap stopped before the end: not counted.")


def test_a_deal_that_is_left_before_the_clock_ran_is_no_lap(visit: Visit) -> None:
    page = dealt(visit)
    page.get_by_role("button", name="Back").click()
    expect(page.get_by_role("heading", name="A new lap")).to_be_visible()
    assert page.evaluate(LOG) is None


def test_the_terminal_reads_the_log_and_the_page_takes_it_back(
    visiting: Callable[..., Visit], run: Run, command: str, tmp_path: Path
) -> None:
    visit = visiting()
    page = begun(visit, rounds=1)
    for lap in range(2):
        if lap:
            page.get_by_role("button", name="Next deal").click()
            page.get_by_role("button", name="Start the clock").click()
        choose(page, 3)
        send(page)
        expect(page.locator(".review")).to_be_visible()
    with page.expect_download() as download:
        page.get_by_role("button", name="Export the log").click()
    file = tmp_path / download.value.suggested_filename
    download.value.save_as(file)
    text = file.read_text(encoding="utf-8")
    lines = [json.loads(line) for line in text.splitlines()]
    assert [line["deal"] for line in lines] == [lines[0]["deal"], lines[0]["deal"] + 1]

    progress = run("progress", "--log", str(file), "--json")
    assert progress.exit_code == 0
    told = json.loads(progress.stdout)
    assert (len(told["rows"]), told["skipped_lines"], told["unfinished"]) == (2, 0, 0)
    assert [row["given_up"] for row in told["rows"]] == [line["result"]["given_up"] for line in lines]
    reviewed = subprocess.run([command, "review", str(file)], capture_output=True, text=True, check=False)
    assert reviewed.returncode == 0, reviewed.stderr
    assert "Average over 2 laps" in reviewed.stdout

    other = visiting()
    there = other.go("#/practise")
    broken = tmp_path / "broken.jsonl"
    broken.write_text(text + '{"threepass_log": 1, "at"', encoding="utf-8")
    for times, says in enumerate(("2 laps added, 0 already here.", "0 laps added, 2 already here.")):
        there.get_by_label("Log file to import").set_input_files(broken)
        expect(there.locator(".history .notices")).to_contain_text(says)
        expect(there.locator(".history .notices")).to_contain_text("line 3 is left out: not whole JSON")
        assert there.evaluate(LOG) == text, times
    shown = there.get_by_role("region", name="Laps").locator("tbody tr")
    expect(shown).to_have_count(2)
    assert fine(lines[1]["result"]["given_up"]) in shown.first.inner_text()
    expect(there.locator("svg.plot .mark")).to_have_count(4)


def test_a_log_of_the_terminal_is_shown_as_the_terminal_shows_it(
    visit: Visit, run: Run, tmp_path: Path
) -> None:
    record = {"card": "full", "rack": [], "exchanges": [{"seconds": 10.5}, {"seconds": 20.25}], "drill": True}
    result = {"share_within_resolution": 0.5, "tiles_away": 4, "pace": "advanced", "seconds": 30.75}
    lines = [
        {
            "threepass_log": 1, "at": f"2026-01-0{day}T10:00:00+00:00", "client": "terminal", "card": "full",
            "seed": 2**62 + 1, "deal": day, "finished": True, "record": record,
            "result": {**result, "given_up": day / 100},
        }
        for day in range(1, 6)
    ]  # fmt: skip
    file = tmp_path / "practice.jsonl"
    file.write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    page = visit.go("#/practise")
    page.get_by_label("Log file to import").set_input_files(file)
    expect(page.locator(".trend li").first).to_have_text("The first 2 laps against the last 2:")
    text = run("progress", "--log", str(file)).stdout
    assert "0.0150, then 0.0450: 0.0300 more" in " ".join(text.split())
    expect(page.locator(".trend")).to_contain_text("Given up: 0.0150, then 0.0450: 0.0300 more.")
    expect(page.locator(".averages")).to_contain_text("0:30.8")
    assert page.evaluate(LOG) == file.read_text(encoding="utf-8")
