"""Where a player loses and what to play again: what is planted is found, nothing else; days are spaced."""

import random
from collections.abc import Callable
from typing import Any

import pytest

from solver.coach.insights import FEWEST
from tests.api.asking import Ask, Faults, pointers

NOW = "2026-11-28T10:00:00+00:00"
RACK = ["2b", "3b", "3c", "3d", "4c", "5c", "5c", "8d", "E", "W", "red", "red", "F", "J"]
PLAIN = ["2b", "4c", "8d"]
ROUNDS = ["first_right", "first_across", "first_left", "second_left", "second_across", "second_right"]
Progress = Callable[..., dict[str, Any]]


def made(**members: Any) -> dict[str, Any]:
    plain = {"rack": RACK, "seen": [], "round": "first_right", "left": None, "given": PLAIN, "blind": 0}
    how = {"seconds": None, "share": 0.0, "family": None, "at": "2026-11-20T10:00:00+00:00", "card": "full"}
    return {**plain, **how, **members}


@pytest.fixture
def progress(post: Ask) -> Progress:
    def asked(passes: list[dict[str, Any]], **members: Any) -> dict[str, Any]:
        response = post("/v1/progress", passes=passes, now=NOW, **members)
        assert response.status_code == 200, response.text
        answer: dict[str, Any] = response.json()
        return answer

    return asked


def costs(answer: dict[str, Any]) -> set[tuple[str, str]]:
    return {(group["by"], group["name"]) for group in answer["groups"] if group["costs"]}


# What is given, and by what name it is then to be found.
GIVEN = [
    (["5c", "2b", "4c"], "pair"),
    (["F", "2b", "4c"], "flower"),
    (["E", "2b", "4c"], "lone"),
    (["3b", "2b", "4c"], "rank"),
]


def loss(rng: random.Random, about: float) -> float:
    """A share that is lost: often nothing, else about so much."""
    return rng.choice((0.0, 1.0)) * min(1.0, rng.expovariate(1 / about))


@pytest.mark.parametrize(("given", "name"), GIVEN)
def test_what_was_given_at_a_cost_is_found_alone(progress: Progress, given: list[str], name: str) -> None:
    rng = random.Random(7)
    passes = []
    for index in range(240):
        bad = rng.random() < 0.25
        lost = {"share": 0.05 + loss(rng, 0.05) if bad else loss(rng, 0.01)}
        how = {"round": ROUNDS[index % 6], "seconds": rng.uniform(3, 40)}
        passes.append(made(**how, **lost, given=given if bad else PLAIN))
    answer = progress(passes)
    assert costs(answer) == {("given", name)}
    group = answer["groups"][0]
    said = group["words"]["says"]
    assert said == answer["words"]["where"]
    assert f"costs you most: {100 * group['mean']:.1f} % a pass, {group['passes']} passes" in said
    # The means are those of the passes that were sent.
    shares = [each["share"] for each in passes if each["given"] == given]
    assert (group["passes"], group["mean"]) == (len(shares), pytest.approx(sum(shares) / len(shares)))
    low, high = group["interval"]
    assert low < group["mean"] < high


def test_a_round_hurry_blind_tiles_and_a_direction_are_found(progress: Progress) -> None:
    rng = random.Random(11)
    passes = []
    for index in range(600):
        round_, seconds = ROUNDS[index % 6], rng.uniform(3, 40)
        blind = rng.choice((0, 1)) if round_ in ("first_left", "second_right") else 0
        lost = loss(rng, 0.01)
        lost += 0.05 * (round_ == "first_across") + 0.05 * (seconds < 15) + 0.06 * blind
        family = rng.choice(("here", "there")) if lost else None
        lost += 0.08 * (family == "there")
        passes.append(made(round=round_, seconds=seconds, blind=blind, share=lost, family=family))
    planted = {("round", "first_across"), ("seconds", "quick"), ("given", "blind"), ("direction", "there")}
    answer = progress(passes)
    assert costs(answer) == planted
    # Who is known to cost stands first, the costliest at the top.
    assert [group["costs"] for group in answer["groups"]][:5] == [True] * 4 + [False]
    excess = [group["passes"] * (group["mean"] - group["rest"]) for group in answer["groups"][:4]]
    assert excess == sorted(excess, reverse=True)
    assert progress(passes)["groups"] == answer["groups"]
    random.Random(1).shuffle(passes)
    assert costs(progress(passes)) == planted


def test_chance_is_hardly_ever_taken_for_a_weakness(progress: Progress) -> None:
    """Of reports on players who lose alike in everything at most one in twenty claims anything."""
    claimed = 0
    for seed in range(40):
        rng = random.Random(seed)
        passes = [
            made(
                round=rng.choice(ROUNDS),
                seconds=rng.expovariate(0.1),
                share=loss(rng, 0.06),
                given=rng.choice([PLAIN, *(given for given, _ in GIVEN)]),
            )
            for _ in range(150)
        ]
        claimed += bool(costs(progress(passes)))
    assert claimed <= 4  # of 40 reports with the chance of one in twenty each more are as rare as 1 in 20


def test_nothing_is_said_of_few_passes(progress: Progress) -> None:
    bad = [made(share=0.9, family="here") for _ in range(FEWEST - 1)]
    answer = progress([*bad, *(made(round="first_left") for _ in range(200))])
    assert costs(answer) == set()
    (group,) = [each for each in answer["groups"] if each["name"] == "first_right"]
    assert (group["passes"], group["interval"], group["rest"]) == (FEWEST - 1, None, None)
    assert group["words"]["interval"] == "too few"
    few = progress(bad)
    assert few["words"][
        "where"
    ] == f"{FEWEST - 1} passes graded so far: {FEWEST} of a kind are needed before" + (" anything is said.")
    assert progress([])["groups"] == []


def test_what_lost_much_comes_back_the_later_the_better_it_went(progress: Progress) -> None:
    first = made(share=0.2, at="2026-11-20T10:00:00+00:00")
    other = made(share=0.02, round="first_left")
    answer = progress([first, other])
    assert [each["index"] for each in answer["due"]] == [0]
    assert answer["words"]["again"] == "1 due now of 1 on your list of passes to play again."

    def next_days(*shares: float) -> str:
        later = [
            made(share=share, at=f"2026-11-2{day}T10:00:00+00:00") for day, share in enumerate(shares, 2)
        ]
        told = progress([first, other, *later])
        (each,) = told["due"] + told["waiting"]
        assert (each["times"], each["index"]) == (1 + len(shares), 1 + len(shares))
        return str(each["due"])

    assert next_days(0.2) < next_days(0.02) < next_days(0.01) < next_days(0.0)
    assert next_days(0.0) < NOW < next_days(0.0, 0.0), "the second good try puts it off for longer"
    # Racks are the same in any order of tiles; another round, card, or tile seen makes another question.
    shuffled = made(rack=RACK[::-1], share=0.0, at="2026-11-22T10:00:00+00:00")
    assert progress([first, shuffled])["due"][0]["due"] == next_days(0.0)
    for change in ({"round": "first_left"}, {"card": "small"}, {"seen": ["9b"]}, {"left": 2}):
        told = progress([first, made(share=0.2, **change)])
        assert len(told["due"]) == 2, change
    assert len(progress([first, other], more_than=0.01)["due"]) == 2


def test_faults(post: Ask, faults: Faults) -> None:
    wrong = made(rack=["4x"], round="left", blind=4, share=1.1, family="", at="yesterday")
    assert faults(post("/v1/progress", passes=[made(), wrong], now="2026-11-28T10:00:00")) == pointers(
        "passes/1/rack/0 enum, passes/1/round enum, passes/1/blind less-than-equal, "
        "passes/1/share less-than-equal, passes/1/family string-too-short, passes/1/at moment, now moment"
    )
    assert faults(post("/v1/progress", passes=[made()] * 2_001, now=NOW)) == ["#/passes too-long"]
    assert faults(post("/v1/progress", passes=[made(at="9999-12-31T00:00:00Z")], now=NOW)) == [
        "#/passes/0/at moment"
    ]
