from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from clients.cli.practice.lap import Deal, Lap
from clients.cli.practice.rounds import allows_blind
from clients.cli.practice.typed import Pass
from solver.deals import deal


def lap_of(seed: int, index: int, rounds: int) -> Lap:
    dealt = deal(seed, index)
    rack, heap = (tuple(tile.value for tile in tiles) for tiles in (dealt.rack.tiles, dealt.heap))
    return Lap(Deal(seed, index, rack, heap), "small", "small", rounds, "2026-11-25T14:00:00+00:00")


@given(st.integers(0, 2**63 - 1), st.integers(1, 12), st.data())
def test_tiles_are_conserved_in_every_exchange(seed: int, rounds: int, data: st.DataObject) -> None:
    lap = lap_of(seed, 0, rounds)
    whole = Counter([*lap.deal.rack, *lap.deal.heap])
    left: Counter[str] = Counter()
    for turn in range(rounds):
        before = Counter(lap.rack)
        blind = data.draw(st.integers(0, 3)) if allows_blind(lap.round) else 0
        may_go = [token for token in lap.rack if token != "J"]
        if len(may_go) < 3 - blind:
            return
        given_tiles = data.draw(st.permutations(may_go))[: 3 - blind]
        received = lap.exchange(Pass(tuple(given_tiles), blind), 1.0)
        taken = lap.deal.heap[3 * turn : 3 * turn + 3]
        # What goes on blind leaves the game as the tiles given do.
        left.update([*given_tiles, *taken[3 - blind :]])
        assert Counter(received) == Counter(taken[: 3 - blind])
        assert Counter(lap.rack) == before - Counter(given_tiles) + Counter(received)
        assert len(lap.rack) == 14
        assert Counter(lap.rack) + Counter(lap.deal.heap[3 * turn + 3 :]) + left == whole
        assert lap.rack.count("J") == before["J"]
    assert lap.finished


def test_a_pass_of_more_than_a_day_is_not_timed() -> None:
    lap = lap_of(1, 0, 1)
    lap.exchange(Pass(tuple(token for token in lap.rack if token != "J")[:3]), 86_400.5)
    assert lap.exchanges[0]["seconds"] is None
    assert lap.seconds is None
