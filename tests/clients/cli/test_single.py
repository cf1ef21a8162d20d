"""Single passes and those that come back, typed in the terminal, and what `progress` makes of the log."""

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from clients.cli import log as logs
from tests.clients.cli.test_pages import flat
from tests.clients.conftest import Ask, Play, Run, Steps
from tests.clients.laps import json_lines, losing_at_first_left
from tests.clients.typist import Step, logged

# On the first deal of the seed, on the small card; the later ones have three tiles of some sort that may go.
START: Step = (60.0, "\n")


@pytest.fixture
def first_three(ask: Ask) -> Callable[..., list[str]]:
    def found(round_: str, index: int = 0) -> list[str]:
        wish = {"seed": 11, "start": index, "card": "small", "round": round_}
        (deal,) = json.loads(ask("/v1/deals", wish))["deals"]
        return [token for token in deal["rack"] if token != "J"][:3]

    return found


def test_a_single_pass_is_judged_at_once_and_logged(
    play: Play, first_three: Callable[..., list[str]], log: Path, ask: Ask
) -> None:
    given = first_three("first_left")
    steps: list[Step] = [START, (12.5, " ".join(given) + "\n"), START, (3.0, "q\n")]
    result = play(steps, "--single", "--round", "first-left")
    assert (result.exit_code, result.stderr) == (0, "")
    assert "Pass 1: first left with the card small, seed 11, deal 0\n" in result.stdout
    assert "Pass 2: first left with the card small, seed 11, deal 1\n" in result.stdout
    (entry,) = logged(log)
    record = entry["record"]
    (exchange,) = record["exchanges"]
    assert (exchange["round"], exchange["given"], exchange["received"]) == ("first_left", given, None)
    assert (exchange["seconds"], record["drill"], record["seen"]) == (12.5, False, [])
    assert entry["finished"] is True
    (review,) = json.loads(ask("/v1/reviews", {"records": [record]}))["reviews"]
    assert entry["result"] == review["kept"]
    (graded,) = review["passes"]
    said = flat(result.stdout)
    for told in (graded["words"]["passed"], graded["words"]["best"], graded["why"], graded["keeps"] or ""):
        assert flat(told) in said


def test_rounds_take_turns_and_no_clock_takes_no_time(
    play: Play, first_three: Callable[..., list[str]], log: Path
) -> None:
    rounds = ["first_across", "first_left", "second_left"]
    typed = [(9.0, " ".join(first_three(round_, at)) + "\n") for at, round_ in enumerate(rounds, 1)]
    aside: list[Step] = [(1.0, "?\n"), (1.0, "p\n"), (1.0, "\n")]
    steps = [step for one in typed for step in (START, *aside, one)]
    result = play(steps, "--single", "--laps", "3", "--start", "1", "--no-clock")
    assert result.exit_code == 0
    assert "clock" not in result.stdout
    exchanges = [entry["record"]["exchanges"][0] for entry in logged(log)]
    assert [(each["round"], each["seconds"]) for each in exchanges] == [(round_, None) for round_ in rounds]


def test_what_lost_much_is_dealt_again_until_it_goes_well(
    play: Play, first_three: Callable[..., list[str]], log: Path, ask: Ask, monkeypatch: pytest.MonkeyPatch
) -> None:
    day = datetime(2026, 11, 20, 10, tzinfo=UTC)
    monkeypatch.setattr("clients.cli.practice.now", lambda: day.isoformat())
    monkeypatch.setattr(logs, "now", lambda: day.isoformat())
    given = first_three("first_right")
    bad = play([START, (9.0, " ".join(given) + "\n")], "--single", "--laps", "1", "--round", "first-right")
    assert bad.exit_code == 0
    (entry,) = logged(log)
    (fact,) = entry["result"]["passes"]
    assert fact["share"] > 0.03, "the first three tiles are a pass that loses much"
    assert "0 due now of 1 on your list" in play([], "--again").stdout
    day += timedelta(days=1)
    best = json.loads(ask("/v1/advice", {"rack": fact["rack"], "round": "first_right", "card": "small"}))[
        "pass"
    ]
    again = play([START, (4.0, " ".join(best) + "\n")], "--again")
    assert (again.exit_code, again.stderr) == (0, "")
    assert "1 due now of 1 on your list" in again.stdout
    assert "Pass 1: first right with the card small, once more\n" in again.stdout
    assert "This pass is as good as the best." in again.stdout
    first, second = logged(log)
    assert second["record"]["rack"] == first["record"]["rack"]
    assert second["result"]["passes"][0]["share"] == 0
    assert "0 due now of 1 on your list" in play([], "--again").stdout
    day += timedelta(days=400)
    assert "1 due now of 1 on your list" in play([], "--again").stdout
    assert "No pass is on the list" in play([], "--again", "--more-than", "90").stdout


def test_a_pass_of_a_lap_comes_back_as_it_stood(
    play: Play, steps_of: Steps, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same rack, round, tiles seen and exchanges left: so the same pass loses the same."""
    assert play(steps_of([9.0, 9.0, 9.0])).exit_code == 0
    (entry,) = logged(log)
    lost = {fact["round"]: fact for fact in entry["result"]["passes"] if fact["share"] > 0.03}
    assert lost
    monkeypatch.setattr(logs, "now", lambda: "2036-01-01T10:00:00+00:00")
    steps = [step for fact in lost.values() for step in (START, (5.0, " ".join(fact["given"]) + "\n"))]
    assert play(steps, "--again").exit_code == 0
    _, *repeated = logged(log)
    found = {each["round"]: each for again in repeated for each in again["result"]["passes"]}
    assert {name: {**fact, "seconds": None} for name, fact in found.items()} == {
        name: {**fact, "seconds": None} for name, fact in lost.items()
    }


def test_progress_tells_where_one_loses(log: Path, run: Run, ask: Ask) -> None:
    log.write_text(json_lines(*losing_at_first_left()), encoding="utf-8")
    text = run("progress", "--log", str(log))
    assert text.exit_code == 0, text.stderr
    said = flat(text.stdout)
    assert "First left costs you most: 6.0 % a pass, 40 passes, the rest 0.0 %." in said
    # A single pass is no lap: it is in no average of laps.
    assert "no finished laps" in said
    told = json.loads(run("progress", "--log", str(log), "--json").stdout)
    assert told["rows"] == []
    for group in told["told"]["groups"]:
        assert flat(group["words"]["name"]) in said
        assert group["words"]["interval"] in said
    assert max(map(len, text.stdout.splitlines()[1:])) <= 80
