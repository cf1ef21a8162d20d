"""What advice says beyond the pass: each number of tiles, why, look-ahead, drills."""

import random
import re
from collections.abc import Callable
from typing import Any

import httpx2
import pytest

from patterns.card_file import shipped_card
from patterns.rack import parse_rack, parse_tiles
from patterns.tiles import Tile
from solver.advice import advise, giving
from solver.arrivals import Arrivals
from solver.limits import Limits
from solver.look_ahead import look_ahead
from solver.model import Stopper
from solver.rounds import Drill, Round
from solver.situation import Question
from solver.why import why
from tests.api.arriving import arriving
from tests.api.racks import RACK, TOKENS, all_seen_but

Ask = Callable[..., httpx2.Response]
Faults = Callable[[httpx2.Response], list[tuple[str, str]]]


def rounded(number: float | None) -> float | None:
    return None if number is None else round(number, 12)


def question(round_: Round, **members: Any) -> Question:
    return Question(shipped_card("small"), parse_rack(RACK), round_, **members)


def tokens(tiles: tuple[Tile, ...] | None) -> list[str] | None:
    return None if tiles is None else [tile.value for tile in tiles]


def test_nothing_beyond_the_pass_unless_asked(ask: Ask) -> None:
    body = ask().json()
    assert (body["why"], body["look_ahead"]) == (None, None)
    (only,) = body["by_number"]
    assert only == {
        "give": 3,
        "blind": 0,
        "pass": body["pass"],
        "expected_hands": body["expected_hands"],
        "gain": 0,
    }


@pytest.mark.parametrize("round_", [Round.FIRST_LEFT, Round.COURTESY])
def test_every_number_is_compared(ask: Ask, round_: Round) -> None:
    body = ask(round=round_.value).json()
    advice = advise(question(round_))
    assert body["by_number"] == [
        {
            "give": value.give,
            "blind": value.blind,
            "pass": tokens(value.passed),
            "expected_hands": rounded(value.expected),
            "gain": rounded(value.gain),
        }
        for value in advice.by_number
    ]
    assert [value["give"] for value in body["by_number"]] == [0, 1, 2, 3]
    blind = [0] * 4 if round_ is Round.COURTESY else [3, 2, 1, 0]
    assert [value["blind"] for value in body["by_number"]] == blind
    best = max(body["by_number"], key=lambda value: value["expected_hands"])
    assert (body["pass"], body["expected_hands"]) == (best["pass"], best["expected_hands"])


def test_numbers_at_which_limits_clash_are_left_out(ask: Ask) -> None:
    body = ask(round="first_left", limits={"go": "E W"}).json()
    assert [value["give"] for value in body["by_number"]] == [2, 3]


def test_a_number_that_is_named_is_the_only_one(ask: Ask) -> None:
    body = ask(round="first_left", give=1).json()
    assert [(value["give"], value["blind"]) for value in body["by_number"]] == [(1, 2)]


def test_why_is_the_solvers(ask: Ask) -> None:
    limits = {"stay": "J 8d", "no_flowers": True}
    body = ask(why=True, limits=limits).json()
    stay = parse_tiles("8d J")
    reasons = why(advise(question(Round.FIRST_RIGHT, limits=Limits.of(stay=stay, no_flowers=True))))
    assert body["why"]["costs"] == [
        {
            "tile": cost.tile.value,
            "pass": tokens(cost.passed),
            "expected_hands": rounded(cost.expected),
            "cost": rounded(cost.cost),
        }
        for cost in reasons.costs
    ]
    assert body["why"]["sensitivity"] == [
        {
            "share": each.share,
            "arrivals": arriving(each.arrivals),
            "pass": tokens(each.passed),
            "same": each.same,
            "regret": rounded(each.regret),
        }
        for each in reasons.sensitivity
    ]
    by_tile = {cost["tile"]: cost for cost in body["why"]["costs"]}
    assert by_tile.keys() == set(TOKENS) - {"J"}
    # What must stay can go in no pass.
    for held in ("8d", "F"):
        assert by_tile[held] == {"tile": held, "pass": None, "expected_hands": None, "cost": None}
    for tile in body["pass"]:
        assert (by_tile[tile]["cost"], by_tile[tile]["pass"]) == (0, body["pass"])


def test_costs_are_against_the_best_pass(ask: Ask) -> None:
    body = ask(why=True, round="courtesy", give=2).json()
    for cost in body["why"]["costs"]:
        assert cost["tile"] in cost["pass"] and len(cost["pass"]) == 2
        assert cost["cost"] == pytest.approx(body["expected_hands"] - cost["expected_hands"], abs=2e-12)
        assert cost["cost"] >= 0


def test_the_sentence_says_what_the_numbers_say(ask: Ask) -> None:
    # Here a fifth more draws and claims call for another pass.
    told = ask(why=True, arrivals={"charleston": 9, "draws": 15, "claims": 22}).json()["why"]
    dearest = max(told["costs"], key=lambda cost: cost["cost"])
    word = Tile(dearest["tile"]).word
    assert told["sentence"].startswith(
        f"The dearest tile to pass is {word} ({dearest['cost']:.3f} expected hands). "
    )
    fewer, more = told["sensitivity"]
    assert (fewer["share"], more["share"]) == (0.8, 1.2)
    assert fewer["same"] and not more["same"]
    assert "With a fifth fewer draws and claims no pass would be better." in told["sentence"]
    assert 0 < more["regret"] < 0.0005
    written = " ".join(more["pass"])
    assert told["sentence"].endswith(
        f" With a fifth more draws and claims {written} would be better, by under 0.001 expected hands."
    )


def test_a_pass_that_hangs_on_nothing(ask: Ask) -> None:
    told = ask(round="courtesy", give=1, why=True).json()["why"]
    assert [each["same"] for each in told["sensitivity"]] == [True, True]
    assert told["sentence"].endswith(" With a fifth fewer or more draws and claims no pass would be better.")


def test_the_sentence_speaks_of_arrivals_only_when_there_are_some(ask: Ask) -> None:
    none = {"charleston": 3, "draws": 0, "claims": 0}
    told = ask(arrivals=none, why=True).json()["why"]
    assert "draws" not in told["sentence"]
    assert told["sentence"] == "No tile that may go costs more than those in the pass."


def test_why_when_nothing_goes(ask: Ask) -> None:
    body = ask(round="courtesy", give=0, why=True, look_ahead={}).json()
    assert body["look_ahead"] is None
    assert body["why"]["costs"] == []
    assert body["why"]["sentence"].startswith("No tile is passed. ")


@pytest.mark.parametrize("drill", [None, Drill(2, 8)])
def test_look_ahead_is_the_solvers(ask: Ask, drill: Drill | None) -> None:
    members: dict[str, object] = {"look_ahead": {"samples": 9, "seed": 4}, "alternatives": 1}
    if drill is not None:
        members["drill"] = {"exchanges_left": drill.exchanges_left, "then_draws": drill.then_draws}
    body = ask(round="first_across", **members).json()
    plain = ask(round="first_across", **{**members, "look_ahead": None}).json()
    advice = advise(question(Round.FIRST_ACROSS, alternatives=1, drill=drill))
    passes = [advice.passed, advice.runner_ups[0].passed]
    direct = look_ahead(giving(advice.question, 3), passes, 9, 4, Stopper())
    told = body["look_ahead"]
    assert told == {
        "passes": [
            {
                "pass": tokens(each.passed),
                "mean": rounded(each.comparison.mean),
                "behind": rounded(each.comparison.behind),
                "error": rounded(each.comparison.error),
            }
            for each in direct.passes
        ],
        "chosen": direct.chosen,
        "changed": direct.chosen != 0,
        "samples": direct.samples,
        "exchanges": 2,
    }
    assert [each["pass"] for each in told["passes"]] == [body["pass"], body["alternatives"][0]["pass"]]
    assert min(each["behind"] for each in told["passes"]) == 0
    # The plain answer stands beside it, unchanged.
    assert {**body, "look_ahead": None} == plain


def test_a_drill_has_its_own_arrivals_and_no_jokers_to_come(ask: Ask) -> None:
    assumed = ask(drill={"exchanges_left": 4, "then_draws": 10}).json()["assumptions"]
    assert assumed["arrivals"] == arriving(Arrivals(12, 10, 0))
    assert assumed["unseen"] == {"naturals": 131, "jokers": 0}
    assumed = ask(drill={"exchanges_left": 1}).json()["assumptions"]
    assert assumed["arrivals"] == arriving(Arrivals(3, Drill.then_draws, 0))


def test_a_drill_is_the_solvers(ask: Ask) -> None:
    body = ask(round="first_left", drill={"exchanges_left": 3, "then_draws": 12}).json()
    advice = advise(question(Round.FIRST_LEFT, drill=Drill(3, 12)))
    assert body["pass"] == tokens(advice.passed)
    assert body["expected_hands"] == rounded(advice.expected) > 0
    assert [value["gain"] for value in body["by_number"]] == [rounded(v.gain) for v in advice.by_number]


def test_the_same_reasons_in_any_order_are_the_same_bytes(ask: Ask) -> None:
    members = {"why": True, "look_ahead": {"samples": 2, "seed": 9}, "round": "first_left"}
    first = ask(**members, seen=["1b", "N"])
    assert first.status_code == 200
    shuffled = random.Random(8).sample(TOKENS, len(TOKENS))
    for rack in (RACK, shuffled, ",".join(shuffled).upper()):
        assert ask(**members, rack=rack, seen=["N", "1b"]).content == first.content


def test_another_seed_is_another_look(ask: Ask) -> None:
    first, other = (ask(look_ahead={"samples": 2, "seed": seed}).json() for seed in (0, 2**63 - 1))
    assert first["look_ahead"]["passes"][0]["mean"] != other["look_ahead"]["passes"][0]["mean"]


def test_no_number_in_the_sentence_is_nan_or_bare_exponent(ask: Ask) -> None:
    for round_ in ("first_right", "second_across", "courtesy"):
        sentence = ask(round=round_, card="full", why=True).json()["why"]["sentence"]
        assert not re.search(r"nan|inf|\de[-+]\d", sentence)
        assert re.findall(r"\d+\.\d+", sentence)


@pytest.mark.parametrize(
    ("members", "expected"),
    [
        (
            {"look_ahead": {"samples": 201, "seed": 2**63}},
            [("#/look_ahead/samples", "less-than-equal"), ("#/look_ahead/seed", "less-than-equal")],
        ),
        (
            {"look_ahead": {"samples": 1, "seed": -1, "depth": 2}},
            [
                ("#/look_ahead/samples", "greater-than-equal"),
                ("#/look_ahead/seed", "greater-than-equal"),
                ("#/look_ahead/depth", "extra-forbidden"),
            ],
        ),
        ({"look_ahead": True, "why": 1}, [("#/why", "bool-type"), ("#/look_ahead", "model-type")]),
        (
            {"drill": {"exchanges_left": 0, "then_draws": 61}},
            [
                ("#/drill/exchanges_left", "greater-than-equal"),
                ("#/drill/then_draws", "less-than-equal"),
            ],
        ),
        (
            {"drill": {"exchanges_left": 10**30, "then_draws": -1}},
            [
                ("#/drill/exchanges_left", "less-than-equal"),
                ("#/drill/then_draws", "greater-than-equal"),
            ],
        ),
        ({"drill": {}}, [("#/drill/exchanges_left", "missing")]),
        (
            {"drill": {"exchanges_left": 1}, "rack": "NEWS 123456789b", "seen": "1111b"},
            [("#/seen", "too-many-copies"), ("#/rack", "wrong-count")],
        ),
        ({"drill": True}, [("#/drill", "model-type")]),
        (
            {"drill": {"exchanges_left": 13}, "look_ahead": {"samples": 1e300}, "give": 1, "rack": "zebra"},
            [
                ("#/drill/exchanges_left", "less-than-equal"),
                ("#/look_ahead/samples", "int-type"),
                ("#/rack", "unknown-tile"),
                ("#/rack", "wrong-count"),
            ],
        ),
    ],
)
def test_faults(ask: Ask, faults: Faults, members: dict[str, Any], expected: list[tuple[str, str]]) -> None:
    assert faults(ask(**members)) == expected


def test_too_few_unseen_to_look_ahead(ask: Ask, faults: Faults) -> None:
    none = {"charleston": 0, "draws": 0, "claims": 0}
    for unseen, exchanges in ((8, 3), (2, 1)):
        members = {"seen": all_seen_but(unseen), "arrivals": none, "drill": {"exchanges_left": exchanges}}
        assert faults(ask(**members, look_ahead={"samples": 2})) == [("#/seen", "range")]
        assert ask(**members).status_code == 200
    members = {"seen": all_seen_but(9), "arrivals": none, "drill": {"exchanges_left": 3}}
    assert ask(**members, look_ahead={"samples": 2}).json()["look_ahead"]["exchanges"] == 3


def test_arrivals_that_outgrow_the_pool_on_the_way(ask: Ask, faults: Faults) -> None:
    # There is room for them now, but not beside the exchanges that are sampled.
    most = {"charleston": 3, "draws": 66, "claims": 62}
    assert faults(ask(arrivals=most, look_ahead={"samples": 2})) == [("#/arrivals", "range")]
    assert ask(arrivals=most).status_code == 200
