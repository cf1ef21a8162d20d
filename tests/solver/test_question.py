import pytest

from patterns.faults import FaultyInputError
from patterns.rack import parse_rack, parse_tiles
from patterns.tiles import Tile
from solver.arrivals import Arrivals, Length, MixedArrivals, default_arrivals
from solver.limits import Limits
from solver.question import DEFAULT_EFFORT, MAX_EFFORT, Question
from solver.rounds import Round
from tests.solver.racks import card, question

RACK = "111b 22c 345d NN FF J"


def faults(**settings: object) -> list[tuple[str, tuple[str | int, ...], str]]:
    with pytest.raises(FaultyInputError) as caught:
        question(RACK, **settings)
    return [(fault.kind, fault.place, fault.detail) for fault in caught.value.faults]


def test_defaults() -> None:
    asked = Question(card("small"), parse_rack(RACK), Round.FIRST_RIGHT)
    assert asked.tiles_given == 3
    assert asked.seen == ()
    assert asked.limits == Limits()
    assert (asked.alternatives, asked.effort) == (2, DEFAULT_EFFORT)
    assert asked.situation.arrivals == default_arrivals(Round.FIRST_RIGHT, 3)


@pytest.mark.parametrize(
    "round_", [Round.FIRST_RIGHT, Round.FIRST_ACROSS, Round.SECOND_LEFT, Round.SECOND_ACROSS]
)
@pytest.mark.parametrize("give", [-1, 0, 1, 2, 4])
def test_most_rounds_give_exactly_three(round_: Round, give: int) -> None:
    assert faults(round=round_, give=give) == [
        ("give", ("give",), f"{give} tiles: {round_.value} gives exactly 3")
    ]


@pytest.mark.parametrize("round_", [Round.FIRST_LEFT, Round.SECOND_RIGHT, Round.COURTESY])
def test_some_rounds_give_up_to_three(round_: Round) -> None:
    for give in range(4):
        assert question(RACK, round=round_, give=give).tiles_given == give
    for give in (-1, 4, 14):
        assert faults(round=round_, give=give) == [
            ("give", ("give",), f"{give} tiles: {round_.value} gives 0 to 3")
        ]


def test_seen_and_rack_together_hold_no_more_than_the_set() -> None:
    assert faults(seen=parse_tiles("1b 1b")) == [
        ("too-many-copies", ("seen",), "five 1 bams (1b): the set holds four")
    ]
    assert faults(seen=(Tile.JOKER,) * 8)[0][1] == ("seen",)
    assert question(RACK, seen=parse_tiles("1b 2c FFFFFF")).situation.unseen[0] == 0


def test_tiles_that_stay_or_go_are_held() -> None:
    limits = Limits(stay=parse_tiles("1111b S"), go=parse_tiles("NNN"))
    assert faults(limits=limits) == [
        ("not-held", ("limits", "stay"), "4 of 1 bam (1b): the rack has 3"),
        ("not-held", ("limits", "stay"), "1 of south wind (S): the rack has 0"),
        ("not-held", ("limits", "go"), "3 of north wind (N): the rack has 2"),
    ]


def test_a_joker_may_stay_but_never_go() -> None:
    assert faults(limits=Limits(go=(Tile.JOKER,))) == [
        ("joker", ("limits", "go"), "a joker may never be passed")
    ]
    assert question(RACK, limits=Limits(stay=(Tile.JOKER,)))


@pytest.mark.parametrize("alternatives", [-1, 11])
def test_alternatives_in_range(alternatives: int) -> None:
    assert faults(alternatives=alternatives) == [("range", ("alternatives",), "0 to 10")]


@pytest.mark.parametrize("effort", [0.0, -1.0, MAX_EFFORT + 1e-9, float("inf"), float("nan")])
def test_effort_in_range(effort: float) -> None:
    assert faults(effort=effort) == [("range", ("effort",), "above 0, at most 20")]


@pytest.mark.parametrize("arrivals", [Arrivals(-1, 0, 0), Arrivals(0, -1, 0), Arrivals(0, 0, -1)])
def test_arrivals_are_not_negative(arrivals: Arrivals) -> None:
    assert faults(arrivals=arrivals) == [("range", ("arrivals",), "every number of arrivals is 0 or more")]


def test_arrivals_fit_the_pool() -> None:
    naturals = 144 - 13 + 1
    assert parse_rack(RACK).tiles.count(Tile.JOKER) == 1
    asked = question(RACK, arrivals=Arrivals(9, naturals - 9 - 22, 22))
    assert asked.situation.outlook.naturals == naturals
    assert faults(arrivals=Arrivals(9, naturals - 9 - 22 + 1, 22)) == [
        (
            "range",
            ("arrivals",),
            f"{naturals + 1} tiles to come: only {naturals} that are not jokers are unseen",
        )
    ]


def test_every_length_of_a_forecast_is_0_or_more_and_fits_the_pool() -> None:
    naturals = question(RACK).situation.outlook.naturals
    for wrong in (Length(-1, 9, 0.5), Length(9, -1, 0.5)):
        assert faults(arrivals=MixedArrivals(3, (Length(5, 5, 0.5), wrong))) == [
            ("range", ("arrivals",), "every number of arrivals is 0 or more")
        ]
    longest = MixedArrivals(3, (Length(5, 5, 0.5), Length(60, naturals - 63, 0.5)))
    assert question(RACK, arrivals=longest).situation.arrivals == longest
    for arrivals in (longest.after(4), MixedArrivals(3, longest.lengths[::-1]).after(4)):
        assert faults(arrivals=arrivals)[0][2].startswith(f"{naturals + 1} tiles to come: ")


def test_all_faults_are_named_at_once() -> None:
    places = [
        place
        for _, place, _ in faults(
            give=7, seen=parse_tiles("11b"), limits=Limits(go=(Tile.JOKER,)), alternatives=99, effort=0.0
        )
    ]
    assert places == [("give",), ("seen",), ("limits", "go"), ("alternatives",), ("effort",)]
