"""One recorded Charleston, or several in one document."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from clients.cli.render.review import lap_text, reviews_text, session_text
from clients.cli.transport import Reply, Service
from tests.clients.laps import OTHER, impossible, lap, short

Run = Callable[..., Result]
EXAMPLE = Path(__file__).parent / "examples" / "recorded.json"
FAULTS = [
    "exchanges, item 1, given: a joker may never be passed",
    "exchanges, item 2, given: 1 of 9 bam (9b) given: the rack had 0",
]


def written(path: Path, value: Any) -> str:
    path.write_text(json.dumps(value), encoding="utf-8")
    return str(path)


def seconds(time: str) -> float:
    minutes, rest = time.split(":")
    return 60 * int(minutes) + float(rest)


def check_page(text: str, review: dict[str, Any]) -> None:
    """Check every figure on the page of a lap against the review."""
    grade, _, hindsight = text.partition("With hindsight, no part of the grade\n")
    row = re.compile(
        r"^  (\w+(?: \w+)?) {2,}(\S.*?) {2,}(\S.*?) {2,}(?:under )?([\d.]+) +((?:under )?[\d.]+) %"
        r"  (yes|no) +(\S+)$",
        re.MULTILINE,
    )
    found = row.findall(grade)
    assert len(found) == len(review["passes"])
    for (round_, given, best, given_up, share, level, time), said in zip(
        found, review["passes"], strict=True
    ):
        assert round_ == said["round"].replace("_", " ")
        for tiles, passed, blind in (
            (given, said["given"], said["blind"]),
            (best, said["best"]["pass"], said["best"]["blind"]),
        ):
            assert [
                word for part in tiles.split(", ") if "blind" not in part for word in part.split()
            ] == passed
            assert ("blind" in tiles) == (blind > 0)
            assert blind == 0 or f"{blind} blind" in tiles
        assert float(given_up) == pytest.approx(said["given_up"], abs=0.000101)
        if not share.startswith("under"):
            assert float(share) / 100 == pytest.approx(said["share"], abs=0.00051)
        assert (level == "yes") == said["within_resolution"]
        if said["seconds"] is None:
            assert time == "-"
        else:
            assert seconds(time) == pytest.approx(said["seconds"], abs=0.051)
    words = re.sub(r"\s+", " ", grade)
    assert f"Given up {review['given_up']:.4f} expected hands in all" in words
    if review["costliest"] is None:
        assert "Cost most no pass gave up anything" in words
    else:
        assert f"Cost most the {review['costliest']['round'].replace('_', ' ')} pass, " in words
        assert review["costliest"]["why"] in words
    if review["time"] is None:
        assert "Time not taken for every pass" in words
    else:
        assert f"Time {review['time']} in all, pace: {review['pace']} At the end" in words
    assert (
        f"At the end {review['expected_hands']:.3f} expected hands, {review['tiles_away']} tiles away"
        in words
    )
    assert review["hands"][0]["name"] in words
    after = re.findall(
        r"^  (\w+(?: \w+)?) {2,}(\S.*?) {2,}(\S.*?) {2,}([\d.]+) +([\d.]+)$", hindsight, re.MULTILINE
    )
    assert len(after) == len(review["passes"])
    for (round_, came, best, worth, made), said in zip(after, review["passes"], strict=True):
        assert round_ == said["round"].replace("_", " ")
        assert came.split() == said["received"]
        assert best.split() == said["hindsight"]["pass"]
        assert float(worth) == pytest.approx(said["hindsight"]["expected_hands"], abs=0.00051)
        assert float(made) == pytest.approx(said["hindsight"]["made"], abs=0.00051)


def test_the_example(run: Run, tmp_path: Path) -> None:
    # Its arrivals are stated, so that what the passes cost does not hang on the default ones.
    stated = {"charleston": 0, "draws": 15, "claims": 22}
    record = {**json.loads(EXAMPLE.read_text(encoding="utf-8")), "arrivals": stated}
    file = written(tmp_path / "recorded.json", record)
    text = run("review", file)
    answer = json.loads(run("review", file, "--json").stdout)
    assert (text.exit_code, text.stderr) == (0, "")
    assert max(map(len, text.stdout.splitlines())) <= 80
    assert text.stdout.isascii()
    (review,) = answer["reviews"]
    check_page(text.stdout, review)
    # A whole first Charleston with a blind pass, and one pass that clearly costs something.
    assert [graded["blind"] for graded in review["passes"]] == [0, 0, 1]
    assert [graded["within_resolution"] for graded in review["passes"]] == [True, False, False]
    lost = [graded["given_up"] for graded in review["passes"]]
    assert review["costliest"]["pass_index"] == 1
    assert lost[1] > 3 * (lost[0] + lost[2])
    # 44.5 + 41 + 26.5 seconds are 112, which is 1:52.
    assert "Time              1:52.0 in all, pace: advanced" in text.stdout
    assert "Average" not in text.stdout


def test_the_example_with_the_default_arrivals(run: Run) -> None:
    text, answer = run("review", str(EXAMPLE)), run("review", str(EXAMPLE), "--json")
    assert (text.exit_code, text.stderr) == (0, "")
    assert max(map(len, text.stdout.splitlines())) <= 80
    check_page(text.stdout, json.loads(answer.stdout)["reviews"][0])


@pytest.mark.parametrize("times", [(41.5, 38.0, 29.5), (41.5, None, 29.5), (100.0, 100.0, 100.0)])
def test_the_page_of_one_record(run: Run, tmp_path: Path, times: tuple[float | None, ...]) -> None:
    file = written(tmp_path / "lap.json", lap(*times))
    text, answer = run("review", file), run("review", file, "--json")
    assert (text.exit_code, answer.exit_code, text.stderr, answer.stderr) == (0, 0, "", "")
    check_page(text.stdout, json.loads(answer.stdout)["reviews"][0])


def test_json_is_the_body_of_the_service(run: Run, tmp_path: Path) -> None:
    with Service(None) as service:
        one = service.post("/v1/reviews", json.dumps({"records": [lap()]}).encode())
        two = service.post("/v1/reviews", json.dumps({"records": [lap(), short()]}).encode())
    assert run("review", written(tmp_path / "a", lap()), "--json").stdout_bytes == one.body
    whole = {"records": [lap(), short()]}
    assert run("review", written(tmp_path / "b", whole), "--json").stdout_bytes == two.body


def test_stdin_and_a_card_for_records_that_name_none(run: Run, card_file: Path) -> None:
    named = run("review", "-", "--json", stdin=json.dumps(lap()))
    filled = run("review", "-", "--json", "--card", "small", stdin=json.dumps(lap(card=None)))
    assert named.exit_code == 0
    assert named.stdout_bytes == filled.stdout_bytes
    own = run("review", "-", "--json", "--card", str(card_file), stdin=json.dumps(lap(card=None)))
    assert {hand["name"] for hand in json.loads(own.stdout)["reviews"][0]["hands"]} <= {
        "Long Pier",
        "Short Pier",
    }


def test_a_record_that_cannot_have_happened(run: Run) -> None:
    text = run("review", "-", stdin=json.dumps(impossible()))
    assert (text.exit_code, text.stdout, text.stderr.splitlines()) == (1, "", FAULTS)
    as_json = run("review", "-", "--json", stdin=json.dumps(impossible()))
    assert (as_json.exit_code, as_json.stderr) == (1, text.stderr)
    pointers = [fault["pointer"] for fault in json.loads(as_json.stdout)["errors"]]
    assert pointers == ["#/records/0/exchanges/0/given", "#/records/0/exchanges/1/given"]


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        ("not json", "not JSON: line 1, column 1"),
        ("[]", "object is expected"),
        ('{"records": []}', "records: "),
        ('{"records": 3}', "records: "),
        ("{}", "rack: "),
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
    titles = re.findall(r"^(Lap \d .*|Refused .*|Average .*)$", text.stdout, re.MULTILINE)
    assert titles == ["Lap 1 (record 1)", "Refused (record 2)", "Lap 2 (record 3)", "Average over 2 laps"]
    refused = text.stdout.partition("Refused (record 2)\n")[2].partition("\n\n")[0]
    assert [line.strip() for line in refused.splitlines()] == FAULTS
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
    text = run("review", "-", stdin=json.dumps({"records": records}))
    assert "Lap 23 (record 23)\n" in text.stdout
    assert "Average over 23 laps\n  Time              0:30.0 a lap\n" in text.stdout


def test_averages_on_the_page(run: Run) -> None:
    # 1:52, 2:07 and 1:58 are 357 seconds, a third of which is 119, or 1:59.
    laps = [lap(42, 40, 30), lap(47, 45, 35), lap(40, 40, 38), lap()]
    stdin = json.dumps({"records": laps})
    text = run("review", "-", stdin=stdin).stdout
    session = json.loads(run("review", "-", "--json", stdin=stdin).stdout)["session"]
    assert re.findall(r"^  Time +(.*)$", text, re.MULTILINE) == [
        "1:52.0 in all, pace: advanced",
        "2:07.0 in all, pace: intermediate",
        "1:58.0 in all, pace: advanced",
        "not taken for every pass",
        "1:59.0 a lap, over the 3 timed",
    ]
    assert session["time"] == "1:59.0"
    average = re.sub(r"\s+", " ", text.partition("Average over 4 laps")[2])
    assert f"Given up {session['given_up']:.4f} expected hands a lap" in average
    assert f"As good as best {100 * session['within_resolution']:.1f} % of the passes" in average
    assert f"Tiles away {session['tiles_away']:.1f} at the end" in average


def test_a_lap_without_fault_and_one_without_hands() -> None:
    with Service(None) as service:
        reply = service.post("/v1/reviews", json.dumps({"records": [lap(rack=OTHER) | short()]}).encode())
    (review,) = json.loads(reply.body)["reviews"]
    text = lap_text({**review, "costliest": None, "hands": [], "tiles_away": 0}, "Lap 1")
    assert "Cost most         no pass gave up anything" in text
    assert "a target is complete" in text
    assert "Likeliest" not in text


def test_a_session_without_times() -> None:
    session = {"laps": 2, "timed": 0, "seconds": None, "time": None}
    text = session_text({**session, "given_up": 0.5, "tiles_away": 5.5, "within_resolution": 0.25})
    assert "Time              no lap was timed throughout" in text


def test_one_request_of_two_laps_has_averages() -> None:
    with Service(None) as service:
        reply = service.post("/v1/reviews", json.dumps({"records": [short(), short()]}).encode())
    titles = [block.splitlines()[0] for block in reviews_text(json.loads(reply.body)).split("\n\n")]
    assert [title for title in titles if title[0] != " "][::3] == ["Lap 1", "Lap 2", "Average over 2 laps"]


def test_a_real_server_gives_the_same(run: Run, server: str) -> None:
    here, there = run("review", str(EXAMPLE)), run("review", str(EXAMPLE), "--server", server)
    assert (here.exit_code, there.exit_code) == (0, 0)
    assert here.stdout == there.stdout


def test_no_server_there(run: Run, free_port: Callable[[], int]) -> None:
    result = run("review", str(EXAMPLE), "--server", f"http://127.0.0.1:{free_port()}")
    assert (result.exit_code, result.stdout) == (3, "")


def test_what_is_no_answer(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Service, "post", lambda *_: Reply(200, b'{"reviews": [{}], "session": {}}'))
    result = run("review", str(EXAMPLE))
    assert (result.exit_code, result.stdout) == (3, "")


@pytest.mark.parametrize(
    "arguments", [(), ("none.json",), ("-", "--card", "none.toml"), ("-", "--effort", "x")]
)
def test_wrong_usage(run: Run, arguments: tuple[str, ...]) -> None:
    result = run("review", *arguments, stdin=json.dumps(lap()))
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr != ""
