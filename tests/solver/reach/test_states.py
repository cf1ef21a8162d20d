import random

import numpy as np

from patterns.card_file import shipped_card
from patterns.rack import Rack
from solver.arrivals import Arrivals
from solver.reach.evaluate import missing, signatures
from solver.situation import Situation, counts_of, tables_of
from tests.solver.played import WALL

RACKS = 60


def row(*states: tuple[int, int, int]) -> tuple[np.ndarray, np.ndarray]:
    plain, grouped, unseen = np.array([*states, *[(0, 0, 0)] * (35 - len(states))], np.int8).T
    return np.array([[plain], [grouped]]), unseen


def test_naturals_serve_singles_and_pairs_first() -> None:
    plain, grouped = np.array([2, 2, 2, 0, 0], np.int8), np.array([3, 3, 3, 4, 4], np.int8)
    lack = missing(plain, grouped, np.array([1, 2, 4, 6, 0], np.int8))
    assert lack.tolist() == [[1, 0, 0, 0, 0], [3, 3, 1, 0, 4]]


def test_only_the_multiset_of_states_matters() -> None:
    rnd = random.Random(1)
    for _ in range(100):
        states = [(rnd.randint(0, 3), rnd.randint(0, 5), rnd.randint(0, 8)) for _ in range(35)]
        mixed_up = rnd.sample(states, 35)
        assert signatures(*row(*states)) == signatures(*row(*mixed_up))


def test_no_two_multisets_met_in_many_racks_share_a_signature() -> None:
    """Every target of both cards against the racks' own tiles, all of them and with three gone."""
    rnd = random.Random(2)
    meaning: tuple[dict[int, object], dict[int, object]] = ({}, {})
    for name in ("small", "full"):
        tables = tables_of(shipped_card(name))
        for _ in range(RACKS):
            rack = Rack(tuple(rnd.sample(WALL, 14)))
            unseen = Situation(rack, (), Arrivals.of(9, 15, 22)).unseen[:35]
            for gone in ((), rack.tiles[:3], rack.tiles[5:8]):
                kept = counts_of(rack.tiles)[:35] - counts_of(gone)[:35]
                lack = missing(tables.plain, tables.grouped, kept)
                at = np.arange(lack.shape[1])[:, None]
                state = (lack[0].astype(int) * 16 + lack[1]) * 16 + unseen
                for sort, signature, which in zip(
                    meaning,
                    signatures(lack, unseen),
                    ((lack[0] > 0) & (lack[1] == 0), lack[1] > 0),
                    strict=True,
                ):
                    states = np.where(which, state, 0)
                    ordered = states[at, np.argsort(-states, axis=1)][:, :14]
                    for key, multiset in zip(
                        signature.tolist(), map(bytes, ordered.astype(">i4")), strict=True
                    ):
                        assert sort.setdefault(key, multiset) == multiset
    for sort in meaning:
        assert len(set(sort.values())) == len(sort) > 200
