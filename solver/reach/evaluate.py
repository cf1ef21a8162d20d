"""From what targets lack to their reach: work shared by signature, the rest vectorised.

A state is what a target lacks of one kind and what is unseen of it. A signature is the sum, modulo 2**64, of
one fixed random number per state: it depends on the multiset of states only, and losing a tile changes it by
a difference. Two different multisets could share one with a chance of about 3e-8 for a million multisets; the
numbers are fixed, so what is true of a rack in the tests is true of it everywhere.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache, partial

import numpy as np
from numpy.typing import NDArray

from patterns.stopping import check_stop
from solver.reach.counting import (
    Mixed,
    Outlook,
    Own,
    Shared,
    binomial,
    kernel,
    own_polynomial,
    shared_polynomial,
)

# Unseen tiles that polynomials are carried over to: enough for nearly every target, so that they and kernels
# are shared by nearly all. Tiles beside a target's own kinds, or beside its shared ones, are of no use to it.
OWN, SHARED = 32, 20
MAX_NEED = 15
_MAX_UNSEEN = 8


def _numbers(seed: int) -> NDArray[np.uint64]:
    """Return a (missing plain, missing grouped, unseen) table of fixed 64-bit numbers (SplitMix64).

    Source of the mixing function: Steele, Lea, Flood (2014), Fast Splittable Pseudorandom Number
    Generators; constants written from memory.
    """
    count = MAX_NEED * MAX_NEED * (_MAX_UNSEEN + 1)
    z = np.arange(1, count + 1, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15) + np.uint64(seed)
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return (z ^ (z >> np.uint64(31))).reshape(MAX_NEED, MAX_NEED, _MAX_UNSEEN + 1)


# Of own kinds, and of shared and mixed ones; zero where not of that sort.
OWN_NUMBER, REST_NUMBER = _numbers(1), _numbers(2)
OWN_NUMBER[0] = OWN_NUMBER[:, 1:] = 0
REST_NUMBER[:, 0] = 0


def missing(plain: NDArray[np.int8], grouped: NDArray[np.int8], kept: NDArray[np.int8]) -> NDArray[np.int8]:
    """Return (2, ..., kinds) what is lacking: in singles and pairs, and in groups before any joker.

    Naturals kept serve singles and pairs first, then groups. The arrays broadcast against each other.
    """
    zero = np.int8(0)
    beyond_plain = np.maximum(kept - plain, zero)
    return np.stack([np.maximum(plain - kept, zero), np.maximum(grouped - beyond_plain, zero)])


def numbers(
    lack: NDArray[np.int8], unseen: NDArray[np.int8]
) -> tuple[NDArray[np.uint64], NDArray[np.uint64]]:
    """Return the number of each state as an own kind, and as a shared or mixed one, of (2, ...) lacking."""
    index = (lack[0].astype(np.intp) * MAX_NEED + lack[1]) * (_MAX_UNSEEN + 1) + unseen
    return OWN_NUMBER.ravel()[index], REST_NUMBER.ravel()[index]


def signatures(
    lack: NDArray[np.int8], unseen: NDArray[np.int8]
) -> tuple[NDArray[np.uint64], NDArray[np.uint64]]:
    """Return (...) signatures of own kinds, and of shared and mixed kinds, of (2, ..., kinds) lacking.

    Most kinds are not lacking and add nothing, so the others are looked up alone. Sums wrap modulo 2**64,
    and so do differences of running sums.
    """
    kinds, flat = lack.shape[-1], lack.reshape(2, -1)
    at = np.flatnonzero(flat[0] | flat[1])
    ends = np.searchsorted(at, np.arange(0, flat.shape[1] + 1, kinds))
    own, rest = (
        np.diff(np.concatenate([[np.uint64(0)], each.cumsum()])[ends]).reshape(lack.shape[1:-1])
        for each in numbers(flat[:, at], unseen[at % kinds])
    )
    return own, rest


class _Ways:
    """A counting polynomial, made for no more tiles than there are of its kinds, and what it counts.

    It is carried over to the usual number of unseen tiles, unless it has more. Mixed kinds go with it, whose
    tiles ``room`` counts and ``size`` does not.
    """

    def __init__(
        self, narrow: Callable[[], NDArray[np.float64]], usual: int, mixed: tuple[Mixed, ...] = ()
    ) -> None:
        ways = narrow()
        self.size, self.mixed = len(ways) - 1, mixed
        self.room = self.size + sum(unseen for *_, unseen in mixed)
        self._narrow, self._usual = narrow, max(self.size, usual)
        self._wide = _carried(ways, self._usual)

    def over(self, tiles: int) -> NDArray[np.float64]:
        """Return the polynomial carried over to so many tiles, ``size`` or more, flat."""
        return self._wide if tiles == self._usual else _carried(self._narrow(), tiles)


def _carried(ways: NDArray[np.float64], tiles: int) -> NDArray[np.float64]:
    """Carry a polynomial, by x or by (k, v), over to so many tiles, and make it flat."""
    return (_widening(len(ways) - 1, tiles).T @ ways).ravel()


# Polynomials of each sort that are remembered, some 35 MiB of both at most; the full card has a thousand and
# four thousand after 200 racks.
_MAX_REMEMBERED = 12_000
_own_known: dict[int, _Ways] = {}
_rest_known: dict[int, _Ways] = {}


@dataclass(frozen=True)
class Demands:
    """Many demands, each known by its (n,) signatures of own kinds, and of shared and mixed kinds.

    Claims are of no use to concealed ones. What those at some indexes lack, (2, some, 35), is asked only for
    new signatures.
    """

    own: NDArray[np.uint64]
    rest: NDArray[np.uint64]
    concealed: NDArray[np.bool_]
    lack: Callable[[NDArray[np.intp]], NDArray[np.int8]]

    @classmethod
    def of(cls, lack: NDArray[np.int8], concealed: NDArray[np.bool_], unseen: NDArray[np.int8]) -> Demands:
        """Make demands from (2, n, 35) lacking, (n,) concealed and (35,) unseen."""
        return cls(*signatures(lack, unseen), concealed, lambda rows: lack[:, rows])


_States = tuple[list[Own], list[Shared], list[Mixed]]


def _states(lack: NDArray[np.int8], unseen: NDArray[np.int8]) -> Iterator[_States]:
    """Yield the states of own, shared and mixed kinds of each demand, in order."""
    for plain, grouped in zip(*lack.tolist(), strict=True):
        check_stop()
        own: list[Own] = []
        shared: list[Shared] = []
        mixed: list[Mixed] = []
        for p, g, a in zip(plain, grouped, unseen.tolist(), strict=True):
            if p and g:
                mixed.append((p, g, a))
            elif p:
                own.append((p, a))
            elif g:
                shared.append((g, a))
        yield sorted(own), sorted(shared), sorted(mixed)


def _looked_up(
    known: dict[int, _Ways], signatures: NDArray[np.uint64], count: Callable[[NDArray[np.intp]], list[_Ways]]
) -> tuple[list[_Ways], NDArray[np.intp]]:
    """Return the ways behind distinct signatures, and the place of each signature among them.

    New ones are counted for the demands at some indexes, and remembered.
    """
    keys, rows, places = np.unique(signatures, return_index=True, return_inverse=True)
    # An own copy: another thread may make the memory forget at any time.
    found = {key: known.get(key) for key in keys.tolist()}
    new = [key for key, ways in found.items() if ways is None]
    if new:
        counted = dict(zip(new, count(rows[np.isin(keys, new)]), strict=True))
        found |= counted
        if len(known) + len(counted) > _MAX_REMEMBERED:
            known.clear()
        if len(counted) <= _MAX_REMEMBERED:
            known.update(counted)
    return [ways for ways in found.values() if ways], places


def reach_of(demands: Demands, outlook: Outlook, unseen: NDArray[np.int8]) -> NDArray[np.float64]:
    """Return the (n,) reach of each demand, in [0, 1], with (35,) naturals of each kind unseen."""
    if not len(demands.own):
        return np.zeros(0)

    def count_own(rows: NDArray[np.intp]) -> list[_Ways]:
        states = _states(demands.lack(rows), unseen)
        return [_Ways(partial(own_polynomial, tuple(own)), OWN) for own, _, _ in states]

    def count_rest(rows: NDArray[np.intp]) -> list[_Ways]:
        states = _states(demands.lack(rows), unseen)
        return [_Ways(partial(shared_polynomial, tuple(s)), SHARED, tuple(mixed)) for _, s, mixed in states]

    own, own_of = _looked_up(_own_known, demands.own, count_own)
    rest, rest_of = _looked_up(_rest_known, demands.rest, count_rest)
    hidden = demands.concealed & (outlook.arrivals.mean_claims > 0)
    pair = (own_of * len(rest) + rest_of) * 2 + hidden
    pairs, pair_of = np.unique(pair, return_inverse=True)
    values = _values(
        own,
        rest,
        pairs // 2 // len(rest),
        pairs // 2 % len(rest),
        (pairs % 2).astype(bool),
        outlook,
    )
    # Rounding may carry a certain target a little beyond 1.
    return np.minimum(values, 1.0)[pair_of]


def _values(
    own: list[_Ways],
    rest: list[_Ways],
    own_at: NDArray[np.intp],
    rest_at: NDArray[np.intp],
    hidden: NDArray[np.bool_],
    outlook: Outlook,
) -> NDArray[np.float64]:
    """Evaluate distinct demands: the rest meets its kernel, and what comes of that the own kinds."""
    width = np.array([ways.size for ways in own])
    filled = np.array([ways.room for ways in rest])
    group = hidden.astype(np.intp)
    if width.max() + filled.max() > outlook.naturals:
        # Own kinds of one demand and the others of another are more than there is: apart, each has room.
        group += 2 * filled[rest_at]
    concealed_outlook = replace(outlook, arrivals=outlook.arrivals.without_claims())
    values = np.zeros(len(group))
    for each in np.unique(group).tolist():
        members = np.flatnonzero(group == each)
        own_used, left = np.unique(own_at[members], return_inverse=True)
        rest_used, right = np.unique(rest_at[members], return_inverse=True)
        widest = _usual(width[own_used].max(), OWN, outlook.naturals - filled[rest_used].max())
        wide = np.array([own[row].over(widest) for row in own_used.tolist()])
        met = _met(
            [rest[row] for row in rest_used.tolist()], concealed_outlook if each % 2 else outlook, widest
        )
        values[members] = np.einsum("ij,ij->i", wide[left], met[right])
    return values


def _usual(size: int, usual: int, room: int) -> int:
    """Return the usual number of tiles, more if a size is greater, less where there is no room for it."""
    return int(min(max(size, usual), room))


def _met(rest: list[_Ways], outlook: Outlook, own: int) -> NDArray[np.float64]:
    """Return the chance that goes with each x of so many own tiles, (rest, own + 1)."""
    alike: dict[tuple[Mixed, ...], list[int]] = {}
    for row, ways in enumerate(rest):
        alike.setdefault(ways.mixed, []).append(row)
    met = np.empty((len(rest), own + 1))
    for mixed, rows in alike.items():
        check_stop()
        filled = sum(unseen for *_, unseen in mixed)
        most = _usual(max(rest[row].size for row in rows), SHARED, outlook.naturals - own - filled)
        chances = kernel(outlook, own, most, mixed).transpose(1, 2, 0).reshape(-1, own + 1)
        met[rows] = np.array([rest[row].over(most) for row in rows]) @ chances
    return met


@lru_cache(maxsize=500)
def _widening(size: int, widest: int) -> NDArray[np.float64]:
    """Return (size + 1, widest + 1) ways for x of its tiles among the arrivals to be y with useless ones."""
    return binomial(widest - size, np.arange(widest + 1) - np.arange(size + 1)[:, None])
