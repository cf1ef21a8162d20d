"""A table over the wire, against the solver asked directly, and a lap at it that can be reviewed."""

from typing import Any

from solver.deals import deal
from solver.rounds import Round
from solver.table.lap import Passed, table_lap
from tests.api.asking import SMALL, Ask, Faults, members, pointers, sent


def test_a_lap_is_played_pass_by_pass_and_reviewed(post: Ask) -> None:
    exchanges: list[dict[str, Any]] = []
    passes: list[Passed] = []
    said = []
    while True:
        answer = post("/v1/tables", seed=31, index=4, card="small", exchanges=exchanges).json()
        lap = table_lap(SMALL, 31, 4, passes)
        said.append(answer.pop("words")["table"])
        assert answer == members(lap, "received stopped rounds most", rack=sent(lap.rack.tiles))
        if not lap.rounds:
            break
        round_ = lap.rounds[0]
        blind = int(round_ is Round.SECOND_RIGHT)
        count = lap.most if round_ is Round.COURTESY else 3 - blind
        given = [tile for tile in lap.rack.tiles if tile.value != "J"][:count]
        exchanges.append({"round": round_.value, "given": sent(tuple(given)), "blind": blind})
        passes.append(Passed(round_, tuple(given), blind))
    assert said[:3] == [None] * 3 and said[-1] is None
    assert said[-2].startswith("The player across wishes for ")
    assert said[3].startswith("The others would play") or said[3].startswith("One of the others stops")
    played = [{**each, "received": came} for each, came in zip(exchanges, answer["received"], strict=True)]
    record = {"card": "small", "rack": sent(deal(31, 4).rack.tiles), "exchanges": played}
    review = post("/v1/reviews", records=[record]).json()["reviews"][0]
    assert [each["round"] for each in review["passes"]] == [each["round"] for each in exchanges]


def test_faults(post: Ask, faults: Faults) -> None:
    def refused(*exchanges: object, **more: object) -> list[str]:
        return faults(post("/v1/tables", **{"seed": 31, "card": "small", "exchanges": exchanges, **more}))

    assert refused({"round": "courtesy", "given": ""}) == ["#/exchanges/0/round round-order"]
    first = {"round": "first_right", "given": "zebra", "blind": 4}
    wrong = pointers(
        "seed less-than-equal, exchanges/0/blind less-than-equal, exchanges/0/given unknown-tile"
    )
    assert refused(first, seed=2**63, card="nope") == [*wrong, "#/card unknown-card"]
    assert refused(*[first] * 8)[0] == "#/exchanges too-long"
