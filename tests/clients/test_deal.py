import json
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from click.testing import Result
from starlette.testclient import TestClient

from api.app import create_app
from clients.cli import dealing
from clients.cli.render.deals import deal_text
from clients.cli.transport import Reply, Service

Run = Callable[..., Result]
SMALL = ("deal", "--card", "small")


@pytest.fixture(scope="module")
def api() -> Iterator[TestClient]:
    with TestClient(create_app()) as client:
        yield client


def test_every_option_reaches_the_service(run: Run, api: TestClient) -> None:
    card = api.get("/v1/cards/small").json()
    families = card["families"]
    hand = next(hand["name"] for hand in card["hands"] if hand["family"] == families[0])
    body = {
        "seed": 7,
        "count": 2,
        "start": 3,
        "tiles": 14,
        "difficulty": "close",
        "family": families[0],
        "jokers": 1,
        "drill": {"exchanges_left": 2, "then_draws": 30},
        "card": "small",
        "limits": {
            "only": {"families": families[:2]},
            "without": {"traits": ["big-groups"]},
            "weights": {hand: 3.0},
            "no_pairs": True,
        },
        "budget": 90,
        "heap": True,
        "answers": True,
    }
    expected = api.post("/v1/deals", json=body)
    assert expected.status_code == 200, expected.text
    # fmt: off
    result = run(
        *SMALL, "--seed", "7", "--count", "2", "--start", "3", "--tiles", "14", "--difficulty", "Close",
        "--family", families[0], "--jokers", "1", "--drill", "2", "--then-draws", "30",
        "--only-family", families[0], "--only-family", families[1], "--without-trait", "big-groups",
        "--weight", f"{hand}=3", "--no-pairs", "--budget", "90", "--heap", "--answers", "--json",
    )
    # fmt: on
    assert result.exit_code == 0, result.stderr
    assert result.stdout_bytes == expected.content
    assert expected.json()["deals"]


def test_a_line_begins_with_a_rack_to_paste(run: Run) -> None:
    asked = (*SMALL, "--seed", "7", "--count", "6")
    text, answer = run(*asked), json.loads(run(*asked, "--json").stdout)
    assert (text.exit_code, text.stderr) == (0, "")
    found = [re.fullmatch(r'("[^"]+") +(\d+)  (\S.*?) {2,}(\S+)', line) for line in text.stdout.splitlines()]
    assert len(found) == len(answer["deals"]) == 6
    racks = []
    for line, said in zip(found, answer["deals"], strict=True):
        assert line is not None
        racks.append(json.loads(line[1]))
        assert racks[-1].split() == said["rack"]
        assert (int(line[2]), line[3], line[4]) == (said["index"], said["call"], said["family"])
    lines = "".join(f"{json.dumps(rack)}\n" for rack in racks)
    advised = run("advise", "-", "--round", "first-right", "--card", "small", stdin=lines)
    assert advised.exit_code == 0
    calls = [json.loads(line)["call"]["word"] for line in advised.stdout.splitlines()]
    assert calls == [said["call"] for said in answer["deals"]]


def test_answers_and_heap_stand_below(run: Run) -> None:
    asked = (*SMALL, "--seed", "11", "--count", "2", "--answers", "--heap", "--drill", "3")
    text, answer = run(*asked), json.loads(run(*asked, "--json").stdout)
    assert max(map(len, text.stdout.splitlines())) <= 80
    for block, said in zip(text.stdout.split('\n"'), answer["deals"], strict=True):
        assert re.search(r"^    pass  (.*)$", block, re.MULTILINE)[1].split() == said["pass"]  # type: ignore[index]
        assert block.partition("    heap  ")[2].split() == said["heap"]
        assert "J" not in said["heap"]


def test_the_same_seed_gives_the_same_deals_from_any_start(run: Run) -> None:
    whole = run(*SMALL, "--seed", "5", "--count", "4").stdout.splitlines()
    assert run(*SMALL, "--seed", "5", "--count", "2", "--start", "2").stdout.splitlines() == whole[2:]
    assert run(*SMALL, "--seed", "6", "--count", "4").stdout.splitlines() != whole


@pytest.mark.parametrize("tiles", ["13", "14"])
def test_tiles(run: Run, tiles: str) -> None:
    rack = json.loads(run(*SMALL, "--seed", "1", "--tiles", tiles, "--json").stdout)["deals"][0]["rack"]
    assert len(rack) == int(tiles)


def test_many_deals_go_in_several_requests(
    run: Run, api: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    bodies = asked_of(monkeypatch)
    result = run(*SMALL, "--seed", "3", "--count", "120", "--json")
    assert result.exit_code == 0, result.stderr
    assert [(body["start"], body["count"]) for body in bodies] == [(0, 50), (50, 50), (100, 20)]
    answer = json.loads(result.stdout)
    assert [deal["index"] for deal in answer["deals"]] == list(range(120))
    assert (answer["complete"], answer["tried"], answer["seed"]) == (True, 120, 3)
    last = api.post("/v1/deals", json={"seed": 3, "card": "small", "start": 100, "count": 20}).json()
    assert answer["deals"][100:] == last["deals"]


def test_several_requests_find_what_one_would(
    run: Run, api: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(dealing, "MOST_TRIED", 4)  # fewer than are wanted
    bodies = asked_of(monkeypatch)
    asked = ("--seed", "7", "--count", "5", "--difficulty", "clear", "--budget", "80")
    result = run(*SMALL, *asked, "--json")
    one = {"seed": 7, "count": 5, "difficulty": "clear", "budget": 80, "card": "small"}
    assert json.loads(result.stdout) == api.post("/v1/deals", json=one).json()
    assert len(bodies) > 1
    assert sum(body["budget"] for body in bodies) <= 80
    text = run(*SMALL, *asked).stdout.splitlines()
    assert len(text) == len(json.loads(result.stdout)["deals"])


def test_fewer_than_wanted_is_said_plainly(run: Run) -> None:
    asked = (*SMALL, "--seed", "7", "--count", "3", "--jokers", "5", "--budget", "150")
    text = run(*asked)
    found = len(text.stdout.splitlines())
    assert text.exit_code == 0
    assert found < 3
    assert text.stderr.splitlines()[-1] == f"only {found} of 3 deals found: the budget was 150"
    as_json = run(*asked, "--json")
    assert as_json.exit_code == 0
    answer = json.loads(as_json.stdout)
    assert (answer["complete"], answer["tried"], len(answer["deals"])) == (False, 150, found)


def test_the_budget_grows_with_the_number_wanted(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    bodies: list[Any] = []

    def none_found(_: Service, __: str, body: bytes) -> Reply:
        bodies.append(json.loads(body))
        tried = bodies[-1]["budget"]
        return Reply(200, json.dumps({"deals": [], "complete": False, "tried": tried, "seed": 1}).encode())

    monkeypatch.setattr(Service, "post", none_found)
    for count, budget in (("1", 400), ("50", 400), ("100", 800)):
        bodies.clear()
        result = run("deal", "--seed", "1", "--count", count)
        assert sum(body["budget"] for body in bodies) == budget
        assert result.stderr.endswith(
            f"only 0 of {count} deal{'s' * (count != '1')} found: the budget was {budget}\n"
        )


@pytest.mark.parametrize("more", [(), ("--json",)])
def test_an_interruption_keeps_the_deals_found(
    run: Run, monkeypatch: pytest.MonkeyPatch, stop_after: Callable[[int], None], more: tuple[str, ...]
) -> None:
    monkeypatch.setattr(dealing, "MOST_DEALS", 3)
    stop_after(1)
    result = run(*SMALL, "--seed", "2", "--count", "9", *more)
    assert result.exit_code == 130
    assert result.stderr == "interrupted: the answers printed so far are whole\n"
    if more:
        answer = json.loads(result.stdout)
        assert (len(answer["deals"]), answer["complete"], answer["tried"]) == (3, False, 3)
    else:
        assert len(result.stdout.splitlines()) == 3


@pytest.mark.parametrize(
    ("options", "place"),
    [
        (("--seed", "-1"), "seed"),
        (("--seed", "1", "--tiles", "12"), "tiles"),
        (("--seed", "1", "--difficulty", "hard"), "difficulty"),
        (("--seed", "1", "--family", "nobody"), "family"),
        (("--seed", "1", "--jokers", "9"), "jokers"),
        (("--seed", "1", "--drill", "13"), "drill, exchanges_left"),
    ],
)
def test_what_the_service_refuses(run: Run, options: tuple[str, ...], place: str) -> None:
    text, as_json = run(*SMALL, *options), run(*SMALL, *options, "--json")
    assert (text.exit_code, text.stdout, as_json.exit_code) == (1, "", 1)
    assert text.stderr.startswith(f"{place}: ")
    assert as_json.stderr == text.stderr
    assert json.loads(as_json.stdout)["status"] == 422


@pytest.mark.parametrize(
    ("options", "fault"),
    [
        ((), "Missing option '--seed'"),
        (("--seed", "x"), "'x' is not a valid integer"),
        (("--seed", "1", "--count", "0"), "0 is not in the range"),
        (("--seed", "1", "--budget", "0"), "0 is not in the range"),
        (("--seed", "1", "--then-draws", "3"), "--then-draws needs --drill"),
    ],
)
def test_wrong_usage(run: Run, options: tuple[str, ...], fault: str) -> None:
    result = run("deal", *options)
    assert (result.exit_code, result.stdout) == (2, "")
    assert fault in result.stderr


def test_a_server_and_none(run: Run, server: str, free_port: Callable[[], int]) -> None:
    asked = (*SMALL, "--seed", "4", "--count", "3", "--json")
    assert run(*asked, "--server", server).stdout_bytes == run(*asked).stdout_bytes
    gone = run(*asked, "--server", f"http://127.0.0.1:{free_port()}")
    assert (gone.exit_code, gone.stdout) == (3, "")


@pytest.mark.parametrize("body", [b"{}", b'{"deals": [], "tried": 0}', b'{"deals": [{}], "tried": 1}', b"[]"])
def test_what_is_no_answer(run: Run, monkeypatch: pytest.MonkeyPatch, body: bytes) -> None:
    monkeypatch.setattr(Service, "post", lambda *_: Reply(200, body))
    result = run("deal", "--seed", "1")
    assert (result.exit_code, result.stdout) == (3, "")
    assert result.stderr == "the answer is not one of threepass: is the URL right?\n"


def test_a_deal_without_a_call_or_a_hand() -> None:
    bare = {"rack": ["F"], "index": 1, "call": None, "family": None, "pass": None, "heap": None}
    assert deal_text(bare).split() == ['"F"', "1", "-", "-"]


def asked_of(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """Return a list that every body sent from now on is added to."""
    bodies: list[dict[str, Any]] = []
    post = Service.post

    def noted(service: Service, path: str, body: bytes) -> Reply:
        bodies.append(json.loads(body))
        return post(service, path, body)

    monkeypatch.setattr(Service, "post", noted)
    return bodies
