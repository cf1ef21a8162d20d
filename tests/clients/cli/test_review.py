"""One recorded Charleston, several in one document, JSON Lines of many, and practice logs."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from clients.cli.review import written_in
from tests.clients.cli.test_pages import OF_HANDS, both, check_words, flat
from tests.clients.conftest import Ask, Run
from tests.clients.laps import impossible, json_lines, lap, logged, short
from tests.clients.test_readme import block

FAULTS = ["exchanges, item 1, given: ", "exchanges, item 2, given: "]
WHOLE = "interrupted: the answers printed so far are whole\n"


def written(path: Path, value: Any) -> str:
    path.write_text(json.dumps(value), encoding="utf-8")
    return str(path)


def answers(result: Result) -> list[dict[str, Any]]:
    return [json.loads(line) for line in result.stdout.splitlines()]


def titles(result: Result) -> list[str]:
    return re.findall(r"^(Lap \d.*|Refused .*|Average .*)$", result.stdout, re.MULTILINE)


def check_page(text: str, review: dict[str, Any]) -> None:
    """Check that the page of a lap has every word of the review, and its tiles."""
    grade, _, hindsight = text.partition("Hindsight (not graded)")
    # Tiles are told as they are typed, and of the hands only the likeliest is told.
    tiles = ("passed", "best", "received")
    check_words(text, {**review, "hands": review["hands"][:1]}, (*tiles, *OF_HANDS))
    row = re.compile(
        r"^  (\w+ \w+|Courtesy) {2,}(\S.*?) {2,}(\S.*?) {2,}(\S.*?) +(\S.*?%)  (yes|no) +(\S+)$", re.M
    )
    found = row.findall(grade)
    assert [round_ for round_, *_ in found] == [said["words"]["round"] for said in review["passes"]]
    for (_, given, best, *figures), said in zip(found, review["passes"], strict=True):
        for shown, passed, blind in (
            (given, said["given"], said["blind"]),
            (best, said["best"]["pass"], said["best"]["blind"]),
        ):
            own = [token for part in shown.split(", ") if "blind" not in part for token in part.split()]
            assert own == passed
            assert ("blind" in shown) == (blind > 0)
            assert blind == 0 or f"{blind} blind" in shown
        assert figures == [said["words"][name] for name in ("lost", "share", "as_good", "time")]
    after = re.findall(r"^  (?:\w+ \w+|Courtesy) {2,}(\S.*?) {2,}(\S.*?) {2,}(\S+) +(\S+)$", hindsight, re.M)
    told = [
        (graded["received"], known["pass"], known["words"]["best_strength"], known["words"]["your_strength"])
        for graded in review["passes"]
        for known in [graded["hindsight"]]
    ]
    assert [(came.split(), best.split(), worth, made) for came, best, worth, made in after] == told


def test_the_example(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "recorded.txt"
    file.write_text(block("record example"), encoding="utf-8")
    text, answer = both(run, "review", str(file))
    (review,) = answer["reviews"]
    check_page(text, review)
    # A whole first Charleston with a blind pass.
    assert [graded["blind"] for graded in review["passes"]] == [0, 0, 1]
    # 44.5 + 41 + 26.5 seconds are 112, which is 1:52; three passes are no whole Charleston and have no pace.
    assert "Time              1:52.0 in all\n" in text
    assert "pace" not in text
    assert "Average" not in text
    assert text.count("Rack strength is") == 1


def test_json_is_the_body_of_the_service(run: Run, ask: Ask, tmp_path: Path) -> None:
    alone = run("review", written(tmp_path / "a", lap()), "--json")
    assert alone.stdout_bytes == ask("/v1/reviews", {"records": [lap()]})
    by_sum = run("review", written(tmp_path / "a", lap()), "--objective", "sum", "--json")
    assert by_sum.stdout_bytes == ask("/v1/reviews", {"records": [lap()], "objective": "sum"})
    assert by_sum.stdout_bytes != alone.stdout_bytes
    whole = {"records": [lap(), short()]}
    several = run("review", written(tmp_path / "b", whole), "--json")
    assert json.loads(several.stdout)["reviews"] == json.loads(ask("/v1/reviews", whole))["reviews"]


def test_stdin_and_a_card_for_records_that_name_none(run: Run, card_file: Path) -> None:
    named = run("review", "-", "--json", stdin=json.dumps(lap()))
    filled = run("review", "-", "--json", "--card", "small", stdin=json.dumps(lap(card=None)))
    assert named.exit_code == 0
    assert named.stdout_bytes == filled.stdout_bytes
    own = run("review", "-", "--json", "--card", str(card_file), stdin=json.dumps(lap(card=None)))
    hands = {hand["name"] for hand in json.loads(own.stdout)["reviews"][0]["hands"]}
    assert hands <= {"Copper Pans", "Open Window", "Left Out", "Tea Towels"}


def test_a_record_that_cannot_have_happened(run: Run) -> None:
    text = run("review", "-", stdin=json.dumps(impossible()))
    lines = text.stderr.splitlines()
    assert (text.exit_code, text.stdout, len(lines)) == (1, "", 2)
    assert all(line.startswith(fault) for line, fault in zip(lines, FAULTS, strict=True))
    as_json = run("review", "-", "--json", stdin=json.dumps(impossible()))
    assert (as_json.exit_code, as_json.stderr) == (1, text.stderr)
    pointers = [fault["pointer"] for fault in json.loads(as_json.stdout)["errors"]]
    assert pointers == ["#/records/0/exchanges/0/given", "#/records/0/exchanges/1/given"]


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        ("not json", "not JSON: line 1, column 1"),
        # A document that was spoiled, although one of its lines is an object: it is not taken for JSON Lines.
        ('{"records": [\n {"rack": "F"}\n', "not JSON: line "),
        ("[]", "object is expected"),
        ('{"records": []}', "records: "),
        ('{"rack": "F"}', "exchanges: "),
    ],
)
def test_what_is_no_record(run: Run, content: str, fault: str) -> None:
    result = run("review", "-", stdin=content)
    assert (result.exit_code, result.stdout) == (1, "")
    assert fault in result.stderr


def test_one_fault_among_several_records_stands_in_its_place(run: Run) -> None:
    stdin = json.dumps({"records": [lap(40, 40, 40), impossible(), short()]})
    text = run("review", "-", stdin=stdin)
    assert (text.exit_code, text.stderr) == (4, "")
    assert titles(text) == [
        "Lap 1 (record 1)",
        "Refused (record 2)",
        "Lap 2 (record 3)",
        "Average over 2 laps",
    ]
    refused = text.stdout.partition("Refused (record 2)\n")[2].partition("\n\n")[0]
    assert all(fault.strip() in refused for fault in FAULTS)
    as_json = run("review", "-", "--json", stdin=stdin)
    assert as_json.exit_code == 4
    answer = json.loads(as_json.stdout)
    assert [each.get("status") for each in answer["reviews"]] == [None, 422, None]
    assert answer["session"]["laps"] == 2


def test_more_records_than_one_request_takes(run: Run) -> None:
    records = [short() for _ in range(23)]
    as_json = run("review", "-", "--json", stdin=json.dumps({"records": records}))
    assert as_json.exit_code == 0, as_json.stderr
    answer = json.loads(as_json.stdout)
    assert len(answer["reviews"]) == 23
    assert (answer["session"]["laps"], answer["session"]["time"]) == (23, "0:30.0")
    assert all(review == answer["reviews"][0] for review in answer["reviews"])
    lines = answers(run("review", "-", "--json", stdin=json_lines(*records)))
    assert len(lines) == 24
    assert lines[-1]["session"] == answer["session"]
    text = run("review", "-", stdin=json.dumps({"records": records}))
    assert "Lap 23 (record 23)\n" in text.stdout
    assert "Average over 23 laps\n  Time              0:30.0 a lap\n" in text.stdout


def test_each_line_in_its_place_and_the_averages_last(run: Run) -> None:
    stdin = json_lines(lap(42, 40, 30)) + "\nnot json\n" + json_lines(impossible(), lap(47, 45, 35), [1])
    stdin += json_lines(lap(40, 40, 38))
    text = run("review", "-", stdin=stdin)
    assert text.exit_code == 4
    assert titles(text) == [
        "Lap 1 (line 1)",
        *("Refused (line 3)", "Refused (line 4)"),
        "Lap 2 (line 5)",
        "Refused (line 6)",
        *("Lap 3 (line 7)", "Average over 3 laps"),
    ]
    assert "  Time              1:59.0 a lap\n" in text.stdout
    as_json = run("review", "-", "--json", stdin=stdin)
    assert as_json.exit_code == 4
    *found, last = answers(as_json)
    assert [answer.get("status", 200) for answer in found] == [200, 400, 422, 200, 422, 200]
    assert list(last) == ["session"]
    assert (last["session"]["laps"], last["session"]["time"]) == (3, "1:59.0")
    assert flat(last["session"]["words"]["lost"]) in flat(text.stdout)


def test_a_practice_log(run: Run) -> None:
    laps = json_lines(logged(short()), logged(lap(), finished=False), logged(short()))
    text = run("review", "-", stdin=laps + '{"threepass_log": 1, "rec')
    assert text.exit_code == 4
    assert titles(text) == ["Lap 1 (line 1)", "Lap 2 (line 3)", "Refused (line 4)", "Average over 2 laps"]
    assert text.stderr == "skipped, as not finished: line 2\n"
    one = run("review", "-", stdin=json_lines(logged(short())))
    assert (one.exit_code, titles(one), one.stderr) == (0, ["Lap 1 (line 1)"], "")


@pytest.mark.parametrize("content", ["", json_lines(logged(lap(), finished=False))])
def test_nothing_to_review(run: Run, content: str) -> None:
    text = run("review", "-", stdin=content)
    assert (text.exit_code, text.stdout) == (0, "")
    assert text.stderr.endswith("no laps to review\n")
    as_json = run("review", "-", "--json", stdin=content)
    assert (as_json.exit_code, as_json.stdout) == (0, '{"session":null}\n')


@pytest.mark.parametrize("more", [(), ("--json",)])
def test_an_interruption_keeps_the_laps_that_are_done(
    run: Run, stop_after: Callable[[int], None], more: tuple[str, ...]
) -> None:
    stop_after(2)
    result = run("review", "-", *more, stdin=json_lines(*[short()] * 5))
    assert (result.exit_code, result.stderr) == (130, WHOLE)
    if more:
        *found, last = answers(result)
        assert [len(answer["reviews"]) for answer in found] == [1, 1]
        assert last["session"]["laps"] == 2
    else:
        assert titles(result) == ["Lap 1 (line 1)", "Lap 2 (line 2)", "Average over 2 laps"]


@pytest.mark.parametrize("faulty", [b"not json", b'{"rack": ', b"\xff", b'{"rack": NaN}', b'{"a": 1e999}'])
def test_a_faulty_line_among_good_ones_goes_to_the_service_as_it_is(faulty: bytes) -> None:
    entries, by_line = written_in(faulty + b"\n" + json_lines(lap()).encode(), None)
    assert (by_line, [place for place, _ in entries]) == (True, ["line 1", "line 2"])
    assert entries[0][1] == faulty.strip()


RECORD = {
    "rack": "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J",
    "card": "small",
    "exchanges": [{"round": "first_right", "given": "5c 5c E", "received": "3b 9c N", "seconds": 41.5}],
}
TEXT = "rack: 2b 4b 455c 5d 6c 8d 1d E W F F J\nright: 5c 5c E > 3b 9c N 41.5s\n"


def test_a_record_as_text_is_graded_like_the_same_in_json(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "yesterday.txt"
    file.write_text(TEXT, encoding="utf-8")
    told = run("review", str(file), "--card", "small")
    assert told.exit_code == 0
    assert told.stdout == run("review", "-", stdin=json.dumps(RECORD)).stdout
    by_sum = run("review", str(file), "--card", "small", "--objective", "sum")
    assert by_sum.stdout == run("review", "-", "--objective", "sum", stdin=json.dumps(RECORD)).stdout
    refused = run("review", "-", stdin=TEXT.replace("right:", "rihgt:"))
    assert refused.exit_code == 1
    assert refused.stderr.startswith("line 2: 'rihgt' is none of")
