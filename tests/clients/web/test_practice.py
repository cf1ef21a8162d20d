"""Practice, start to end, in a real browser, by touch and by keyboard."""

import json
import subprocess
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, expect

from api.service import fine
from patterns.tiles import Tile
from tests.clients.conftest import Run
from tests.clients.laps import logged, losing_at_first_left
from tests.clients.web.conftest import Lap, Visit, imported, post, tiles_in, words_of

LOG = "localStorage.getItem('threepass.log')"


def log_of(page: Page) -> list[dict[str, Any]]:
    return [json.loads(line) for line in str(page.evaluate(LOG)).splitlines()]


def left_over(rack: list[str], given: list[str], received: list[str]) -> Counter[str]:
    return Counter(rack) - Counter(given) + Counter(received)


def test_a_lap_by_touch_with_a_blind_and_a_courtesy_pass(visiting: Callable[..., Visit]) -> None:
    visit = visiting(wide=360, high=740, has_touch=True, is_mobile=True)
    lap = Lap(visit, courtesy=True)
    page = lap.page
    assert page.locator(".tile-button").count() == 0
    page.get_by_role("button", name="Start the clock").tap()
    rack = lap.rack
    assert Counter(rack) == Counter(lap.deal["rack"])

    made = []
    for number, (own, blind) in enumerate(((3, 0), (3, 0), (1, 2), (2, 0))):
        for _ in range(blind):
            page.get_by_role("button", name="One more blind").tap()
        tiles = page.locator(".tile-button:not([data-token=J])")
        for at in range(own):
            tiles.nth(at).tap()
        given = [token for token in rack if token != "J"][:own]
        page.locator(".controls .primary").tap()
        received = lap.deal["heap"][3 * number : 3 * number + own]
        made.append((given, received, blind))
        if number < 3:
            expect(page.locator(".came")).to_contain_text(f"Came in: {words_of(received)}.")
            assert Counter(lap.rack) == left_over(rack, given, received)
            rack = lap.rack
    expect(page.locator(".review")).to_be_visible()

    (line,) = log_of(page)
    assert (line["client"], line["seed"], line["deal"]) == ("web", 11, lap.deal["index"])
    assert line["finished"] is True
    exchanges = line["record"]["exchanges"]
    names = ["first_right", "first_across", "first_left", "courtesy"]
    assert [each["round"] for each in exchanges] == names
    assert [(each["given"], each["received"], each["blind"]) for each in exchanges] == made
    assert all(each["seconds"] > 0 for each in exchanges)


def test_the_review_is_in_the_words_of_the_service(visit: Visit) -> None:
    lap = Lap(visit).start()
    page = lap.page
    lap.play_out(3)
    (line,) = log_of(page)
    answer = post(visit.server, "/v1/reviews", records=[line["record"]])
    review, session = answer["reviews"][0], answer["session"]
    assert line["result"] == review["kept"]
    cells = page.get_by_role("region", name="This lap and the average").locator("tbody td:nth-child(2)")
    words = review["words"]
    expect(cells).to_have_text([words["time"], words["lost"], session["words"]["as_good"], words["end"]])
    assert words["costliest"].lower() in page.locator(".review").inner_text().lower()
    for shown, graded in zip(page.locator(".graded").all(), review["passes"], strict=True):
        names = ["You passed", "Best", "Came in", "Lost", "Lost %", "As good", "Time"]
        assert shown.locator("dt").all_inner_texts() == names
        words = graded["words"]
        tiles = [each.replace("\n", " ") for each in shown.locator("dd").all_inner_texts()]
        assert (tiles[0], tiles[1]) == (words["passed"], words["best"])
        assert tiles[3:] == [words[name] for name in ("lost", "share", "as_good", "time")]
        assert shown.locator("h4").inner_text() == words["round"]
        keeps = [f"Yours keeps {graded['keeps']}."] if graded["keeps"] else []
        assert shown.locator("p").all_inner_texts() == [graded["why"], *keeps]
    page.get_by_text("Hindsight (not graded)").click()
    known = page.get_by_role("region", name="Best, had one known").locator("tbody tr")
    for row, graded in zip(known.all(), review["passes"], strict=True):
        words = graded["hindsight"]["words"]
        assert row.locator("td").all_inner_texts()[2:] == [words["best_strength"], words["your_strength"]]


def test_a_lap_by_keyboard_alone(visit: Visit) -> None:
    page = visit.go("#/practice")
    keys = page.keyboard
    # Seed and start stay empty: the deal is any, and the lap must be right whatever it is.
    page.get_by_label("Rounds").select_option("3")
    page.get_by_label("Rounds").focus()
    page.get_by_role("button", name="Deal", exact=True).focus()
    keys.press("Enter")
    expect(page.get_by_role("button", name="Start the clock")).to_be_focused()
    keys.press("Enter")
    for number in range(3):
        expect(page.locator(".play h2")).to_contain_text(f"Round {number + 1} of 3")
        keys.press("Home")
        wanted = 2 if number == 2 else 3
        for _ in range(wanted):
            keys.press("Space")
            keys.press("ArrowRight")
        if number == 2:
            keys.press("b")
            expect(page.locator(".stepper-value")).to_have_text("1 blind")
        chosen = page.locator(".tile-button[aria-pressed=true]").count()
        assert chosen == wanted
        keys.press("s" if number else "Control+Enter")
    expect(page.get_by_role("heading", name="Review")).to_be_focused()
    expect(page.locator(".graded")).to_have_count(3)


def test_what_the_rules_forbid_is_told_and_the_clock_runs(visit: Visit) -> None:
    lap = Lap(visit).start()
    page = lap.page
    fault = page.locator(".pass-fault")
    lap.choose(2)
    # Playwright takes aria-disabled for disabled and would wait; a person may press, and is told why not.
    page.locator(".controls .primary").click(force=True)
    expect(fault).to_have_text("2 tiles chosen: first right takes exactly 3. The clock runs.")
    page.locator(".tile-button[data-token=J]").first.click()
    expect(fault).to_have_text("A joker may never be passed.")
    page.locator(".tile-button:not([data-token=J])").nth(2).click()
    page.locator(".tile-button:not([data-token=J])").nth(3).click()
    expect(fault).to_contain_text("Three are chosen already")
    page.keyboard.press("b")
    expect(fault).to_have_text("First right allows no blind pass.")
    page.keyboard.press("Escape")
    assert page.locator(".tile-button[aria-pressed=true]").count() == 0
    first = page.locator(".clock").inner_text()
    expect(page.locator(".clock")).not_to_have_text(first)


def test_a_pause_hides_the_rack_and_stops_the_clock(visit: Visit) -> None:
    lap = Lap(visit).start()
    page = lap.page
    chosen = lap.choose(2)
    rack = lap.rack
    page.get_by_role("button", name="Pause").click()
    assert page.locator(".tile-button").count() == 0
    assert page.locator(".tile-back").count() == 14
    assert not any(Tile(token).word in page.locator(".play").inner_text() for token in chosen)
    stood = page.locator(".clock").inner_text()
    page.wait_for_timeout(400)
    assert page.locator(".clock").inner_text() == stood
    page.get_by_role("button", name="Go on").click()
    assert lap.rack == rack
    assert page.locator(".tile-button[aria-pressed=true]").count() == 2
    # A page that cannot be seen is paused too.
    page.evaluate(
        "() => { Object.defineProperty(document, 'visibilityState', { value: 'hidden' });"
        " document.dispatchEvent(new Event('visibilitychange')); }"
    )
    expect(page.get_by_role("button", name="Go on")).to_be_visible()
    assert page.locator(".tile-button").count() == 0


def test_a_lap_goes_on_after_a_reload_where_it_was(visit: Visit) -> None:
    lap = Lap(visit).start()
    page = lap.page
    first = lap.pass_three()
    rack = lap.rack
    chosen = lap.choose(2)
    expect(page.locator(".clock")).not_to_have_text("0:00.0")
    page.reload()
    expect(page.locator(".practice > .notices")).to_contain_text("A lap was under way")
    assert page.locator(".tile-button").count() == 0
    stood = page.locator(".clock").inner_text()
    assert stood != "0:00.0"
    page.get_by_role("button", name="Go on").click()
    assert lap.rack == rack
    assert Counter(rack) == left_over(lap.deal["rack"], first, lap.deal["heap"][:3])
    assert lap.chosen == chosen
    page.locator(".tile-button:not([data-token=J]):not([aria-pressed=true])").first.click()
    lap.send()
    lap.pass_three()
    expect(page.locator(".graded")).to_have_count(3)
    (line,) = log_of(page)
    assert [len(each["given"]) for each in line["record"]["exchanges"]] == [3, 3, 3]
    # The time before the reload counts, the time away does not.
    before = float(stood.split(":")[1])
    assert line["record"]["exchanges"][1]["seconds"] >= before
    page.reload()
    expect(page.get_by_role("heading", name="A new lap")).to_be_visible()
    assert len(log_of(page)) == 1


def test_a_lap_that_is_stopped_is_logged_as_not_finished_and_one_not_begun_not_at_all(visit: Visit) -> None:
    page = Lap(visit).page
    page.get_by_role("button", name="Back").click()
    expect(page.get_by_role("heading", name="A new lap")).to_be_visible()
    assert page.evaluate(LOG) is None
    page.get_by_role("button", name="Deal", exact=True).click()
    page.get_by_role("button", name="Start the clock").click()
    for at in range(3):
        page.locator(".tile-button:not([data-token=J])").nth(at).click()
    page.keyboard.press("s")
    page.keyboard.press("p")
    page.get_by_role("button", name="Stop the lap").click()
    expect(page.locator(".practice > .notices")).to_contain_text("counts in no average")
    (line,) = log_of(page)
    assert (line["finished"], line["result"], len(line["record"]["exchanges"])) == (False, None, 1)
    expect(page.locator(".history")).to_contain_text("1 lap stopped before the end: not counted.")


def test_the_terminal_reads_the_log_and_the_page_takes_it_back(
    visiting: Callable[..., Visit], run: Run, command: str, tmp_path: Path
) -> None:
    visit = visiting()
    lap = Lap(visit, rounds=1)
    page = lap.page
    for number in range(2):
        if number:
            page.get_by_role("button", name="Next deal").click()
        lap.start().play_out(1)
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
    assert [row["given_up"] for row in told["rows"]] == [
        line["result"]["strength_given_up"] for line in lines
    ]
    reviewed = subprocess.run([command, "review", str(file)], capture_output=True, text=True, check=False)
    assert reviewed.returncode == 0, reviewed.stderr
    assert "Average over 2 laps" in reviewed.stdout

    other = visiting()
    there = other.go("#/practice")
    broken = tmp_path / "broken.jsonl"
    broken.write_text(text + '{"threepass_log": 1, "at"', encoding="utf-8")
    for times, says in enumerate(("2 laps added, 0 already here.", "0 laps added, 2 already here.")):
        there.get_by_label("Log file to import").set_input_files(broken)
        expect(there.locator(".history .notices")).to_contain_text(says)
        expect(there.locator(".history .notices")).to_contain_text("line 3 is left out: not whole JSON")
        assert there.evaluate(LOG) == text, times
    shown = there.get_by_role("region", name="Laps").locator("tbody tr")
    expect(shown).to_have_count(2)
    assert fine(lines[1]["result"]["strength_given_up"]) in shown.first.inner_text()
    expect(there.locator("svg.plot .mark")).to_have_count(4)


def test_a_log_of_the_terminal_is_shown_as_the_terminal_shows_it(
    visit: Visit, run: Run, tmp_path: Path
) -> None:
    record = {"card": "full", "rack": [], "exchanges": [{"seconds": 10.5}, {"seconds": 20.25}], "drill": True}
    result = {"share_within_resolution": 0.5, "tiles_away": 4, "pace": "advanced", "seconds": 30.75}
    lines = [
        logged(
            record,
            {**result, "strength_given_up": day / 100},
            at=f"2026-01-0{day}T10:00:00+00:00",
            card="full",
            seed=2**62 + 1,
            deal=day,
        )
        for day in range(1, 6)
    ]
    file = tmp_path / "practice.jsonl"
    page = imported(visit, tmp_path, *lines)
    expect(page.locator(".trend li").first).to_have_text("The first 2 laps against the last 2:")
    text = run("progress", "--log", str(file)).stdout
    assert "15.00, then 45.00: 30.00 more" in " ".join(text.split())
    expect(page.locator(".trend")).to_contain_text("Lost: 15.00, then 45.00: 30.00 more.")
    expect(page.locator(".averages")).to_contain_text("0:30.8")
    assert page.evaluate(LOG) == file.read_text(encoding="utf-8")
    absurd = [
        lines[0] | {"at": "+012026-01-09T10:00:00+00:00"},
        lines[0] | {"deal": 9, "record": {**record, "exchanges": [{"seconds": 1e300}]}},
        lines[0] | {"deal": 9, "record": {**record, "exchanges": [{"seconds": 1}] * 13}},
        *(
            lines[0] | {"deal": 9, "result": {**result, name: 1e9}}
            for name in ("strength_given_up", "tiles_away")
        ),
    ]
    imported(visit, tmp_path, *absurd)
    expect(page.locator(".history .notices")).to_contain_text("0 laps added, 0 already here.")
    expect(page.locator(".history .notices")).to_contain_text("line 5 is left out: not a lap of this log")


def test_nothing_is_to_scroll_while_the_clock_runs_on_a_phone_held_sideways(
    visiting: Callable[..., Visit],
) -> None:
    lap = Lap(visiting(wide=740, high=360, has_touch=True, is_mobile=True), rounds=3).start()
    page = lap.page
    lap.pass_three()
    lap.pass_three()
    lap.choose(2)
    for part in (".play-head", ".board", ".pass-tray", ".pass-fault", ".controls .buttons", ".stepper"):
        box = page.locator(part).bounding_box()
        assert box is not None
        assert box["y"] >= 0, part
        assert box["y"] + box["height"] <= 360, part


def test_the_card_is_at_hand_and_the_clock_waits_if_that_is_wanted(visit: Visit) -> None:
    page = Lap(visit, rounds=1).start().page
    clock = page.locator(".clock")
    page.get_by_role("button", name="Card", exact=True).click()
    expect(page.locator(".book .drawn-hand")).to_have_count(60)
    before = clock.inner_text()
    expect(clock).not_to_have_text(before)
    page.get_by_label("Stop the clock while I look").check()
    page.wait_for_timeout(200)
    stood = clock.inner_text()
    page.wait_for_timeout(400)
    assert clock.inner_text() == stood
    page.get_by_role("button", name="Back to the rack").click()
    expect(clock).not_to_have_text(stood)
    # So it is the next time.
    page.get_by_role("button", name="Card", exact=True).click()
    page.wait_for_timeout(200)
    stood = clock.inner_text()
    page.wait_for_timeout(400)
    assert clock.inner_text() == stood


def test_a_link_to_a_deal_deals_it_again(visiting: Callable[..., Visit]) -> None:
    lap = Lap(visiting(), rounds=1).start()
    lap.play_out(1)
    link = lap.page.get_by_role("link", name="Link to this deal").get_attribute("href")
    other = visiting()
    page = other.go(str(link))
    page.get_by_role("button", name="Start the clock").click()
    expect(page.locator(".play h2")).to_have_text("Round 1 of 1: first right")
    assert Counter(tiles_in(page.locator(".play"), ".tile-button")) == Counter(lap.deal["rack"])


def test_a_target_is_counted_down(visit: Visit) -> None:
    page = visit.go("#/practice")
    page.get_by_label("Target for the lap").select_option("120")
    page.get_by_role("button", name="Deal", exact=True).click()
    page.get_by_role("button", name="Start the clock").click()
    expect(page.locator(".lap-clock")).to_contain_text("1:59.")
    expect(page.locator(".lap-clock")).to_contain_text("left")
    # A whole Charleston is what is dealt at first.
    expect(page.locator(".play h2")).to_contain_text("of 6")


def test_the_trend_is_of_the_laps_that_are_asked_for(visit: Visit, tmp_path: Path) -> None:
    lines = [
        logged(
            {"card": "x", "rack": [], "exchanges": [{"seconds": day}] * (3 if day < 5 else 6)},
            at=f"2026-01-0{day}T10:00:00+00:00",
            card="small" if day < 3 else "full",
            deal=day,
        )
        for day in range(1, 7)
    ]
    page = imported(visit, tmp_path, *lines)
    rows = page.get_by_role("region", name="Laps").locator("tbody tr")
    expect(rows).to_have_count(6)
    page.get_by_label("Laps with the card").select_option(label="Harbor Town")
    expect(rows).to_have_count(4)
    page.get_by_label("Laps of").select_option("3")
    expect(rows).to_have_count(2)
    # Days 3 and 4, three passes each: nine and twelve seconds.
    expect(page.locator(".averages")).to_contain_text("0:10.5")


def test_single_passes_of_a_round_one_after_the_other(visiting: Callable[..., Visit]) -> None:
    visit = visiting(wide=360, high=740, has_touch=True, is_mobile=True)
    page = visit.go("#/practice")
    page.get_by_label("What to play").select_option("single")
    expect(page.get_by_role("heading", name="Single passes")).to_be_visible()
    expect(page.get_by_label("Rounds")).to_be_hidden()
    page.get_by_label("Round", exact=True).select_option("first_left")
    page.get_by_text("The same deal again").tap()
    page.get_by_label("Seed").fill("11")
    page.get_by_role("button", name="Deal", exact=True).tap()
    for number in range(2):
        expect(page.locator(".play h2")).to_have_text("First left")
        wish = {"seed": 11, "start": number, "round": "first_left", "card": "full"}
        (deal,) = post(visit.server, "/v1/deals", **wish)["deals"]
        tiles = page.locator(".tile-button:not([data-token=J])")
        for at in range(3):
            tiles.nth(at).tap()
        page.locator(".controls .primary").tap()
        expect(page.get_by_role("heading", name="The verdict")).to_be_focused()
        shown = page.locator(".review")
        expect(shown).to_be_visible()
        line = log_of(page)[-1]
        assert Counter(line["record"]["rack"]) == Counter(deal["rack"])
        assert (line["record"]["seen"], line["record"]["exchanges"][0]["round"]) == ([], "first_left")
        (review,) = post(visit.server, "/v1/reviews", records=[line["record"]])["reviews"]
        (graded,) = review["passes"]
        expect(shown).to_contain_text(graded["why"])
        expect(shown).to_contain_text(graded["words"]["share"])
        assert line["result"] == review["kept"]
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        page.get_by_role("button", name="Next", exact=True).tap()
    # One that is not made is not kept, and single passes are no laps.
    page.get_by_role("button", name="Pause").tap()
    page.get_by_role("button", name="Stop", exact=True).tap()
    assert len(log_of(page)) == 2
    expect(page.locator(".history")).to_contain_text("No laps yet")
    expect(page.locator(".insights")).to_contain_text("2 passes graded so far")


def test_what_lost_much_comes_again_and_no_clock_is_shown(visit: Visit, tmp_path: Path) -> None:
    rack = ["2b", "4b", "4c", "5c", "5c", "5d", "6c", "8d", "1d", "E", "W", "F", "F", "J"]
    lines = []
    for number, given in enumerate((["5c", "8d", "E"], ["1d", "E", "W"])):
        exchange = {"round": "first_right", "given": given, "received": None, "blind": 0, "seconds": 9}
        record = {"card": "full", "rack": rack, "exchanges": [exchange], "seen": [], "drill": False}
        (review,) = post(visit.server, "/v1/reviews", records=[record])["reviews"]
        at = f"2026-01-0{number + 1}T10:00:00+00:00"
        lines.append(logged(record, review["kept"], at=at, card="full", deal=number))
    page = imported(visit, tmp_path, lines[0])
    expect(page.locator(".insights")).to_contain_text("1 due now of 1 on your list")
    expect(page.get_by_label("What to play").locator("option").last).to_contain_text("(1 due)")
    page.get_by_label("What to play").select_option("again")
    more = page.get_by_label("Passes that lost more than")
    for percent, due in (("99", 0), ("3", 1)):
        more.fill(percent)
        more.blur()
        expect(page.get_by_label("What to play").locator("option").last).to_contain_text(f"({due} due)")
    page.get_by_label("Against the clock").uncheck()
    page.get_by_role("button", name="Deal", exact=True).click()
    expect(page.locator(".play h2")).to_have_text("First right")
    expect(page.locator(".clock")).to_be_hidden()
    for token in ("1d", "E", "W"):
        page.locator(f".tile-button[data-token='{token}']").click()
    page.keyboard.press("s")
    expect(page.locator(".review")).to_contain_text("This pass is as good as the best.")
    again = log_of(page)[-1]
    assert Counter(again["record"]["rack"]) == Counter(rack)
    assert again["record"]["exchanges"][0]["seconds"] is None
    assert again["card"] == "full"
    page.get_by_role("button", name="Next", exact=True).click()
    expect(page.locator(".practice > .notices")).to_contain_text("0 due now of 1 on your list")
    # The list is made of the log, which any browser can be given.
    assert len(log_of(page)) == 2


def test_where_one_loses_is_told_and_drawn(visit: Visit, tmp_path: Path) -> None:
    page = imported(visit, tmp_path, *losing_at_first_left())
    where = page.locator(".insights")
    expect(where).to_contain_text("First left costs you most: 6.0 % a pass, 40 passes")
    page.get_by_text("By round, time, what was given and direction").click()
    row = where.locator("tbody tr", has_text="First left")
    expect(row).to_contain_text("6.0\u00a0%")
    first, second = (where.locator("svg.loss rect").nth(at).get_attribute("width") for at in (0, 1))
    assert float(str(first)) > float(str(second))


def test_a_lap_at_a_table_of_careful_players(visit: Visit) -> None:
    """What the service says comes in; the second Charleston is stopped, the courtesy pass not too large."""
    page = visit.go("#/practice?seed=1&card=small&table=1")
    page.get_by_role("button", name="Start the clock").click()
    exchanges: list[dict[str, Any]] = []
    while True:
        asked = {"seed": 1, "card": "small", "exchanges": exchanges}
        table = post(visit.server, "/v1/tables", **asked)
        if not table["rounds"]:
            break
        stop = page.get_by_role("button", name="Stop the second Charleston")
        round_ = table["rounds"][-1]
        if len(table["rounds"]) > 1:
            stop.click()
        expect(stop).to_have_count(0)
        expect(page.locator(".play h2")).to_contain_text(
            f"Round {len(exchanges) + 1}: {round_.replace('_', ' ')}"
        )
        shown = tiles_in(page.locator(".play"), ".tile-button")
        assert shown == table["rack"]
        count = table["most"] if round_ == "courtesy" else 3
        given = [token for token in shown if token != "J"][:count]
        tiles = page.locator(".tile-button:not([data-token=J])")
        if round_ == "courtesy" and count < 3:
            for at in range(count + 1):
                tiles.nth(at).click()
            page.locator(".controls .primary").click()
            expect(page.locator(".pass-fault")).to_contain_text(f"wishes for no more than {count}")
            page.keyboard.press("Escape")
        for at in range(count):
            tiles.nth(at).click()
        page.locator(".controls .primary").click()
        exchanges.append({"round": round_, "given": given, "blind": 0})
        if len(exchanges) < 4:
            expect(page.locator(".play h2")).to_contain_text(f"Round {len(exchanges) + 1}")
    expect(page.locator(".graded-lap .review")).to_be_visible()
    (entry,) = log_of(page)
    record = entry["record"]
    (deal,) = post(visit.server, "/v1/deals", seed=1, card="small")["deals"]
    assert (record["drill"], entry["finished"], record["rack"]) == (False, True, deal["rack"])
    assert [each["received"] for each in record["exchanges"]] == table["received"]
    assert "table=1" in str(page.get_by_role("link", name="Link to this deal").get_attribute("href"))
