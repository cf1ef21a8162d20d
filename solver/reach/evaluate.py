"""From what targets lack to their reach: work shared by signature, the rest vectorised."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from solver.reach.kernel import Outlook, kernel
from solver.reach.polynomials import MAX_JOKERS, Mixed, Own, Shared, own_polynomial, shared_polynomial
from solver.reach.states import Missing, signatures

_RestStates = tuple[tuple[Shared, ...], tuple[Mixed, ...]]

_MAX_REMEMBERED = 200_000
_own_states: dict[int, tuple[Own, ...]] = {}
_rest_states: dict[int, _RestStates] = {}


@dataclass(frozen=True)
class Demands:
    """Many demands, each known by its signatures.

    Attributes:
        own: (n,) uint64 signatures of own kinds.
        rest: (n,) uint64 signatures of shared and mixed kinds.
        concealed: (n,) bool, whether claims are of no use.
        lack: Returns what the demands at some indexes lack; asked only for signatures not met before.
    """

    own: NDArray[np.uint64]
    rest: NDArray[np.uint64]
    concealed: NDArray[np.bool_]
    lack: Callable[[NDArray[np.intp]], Missing]

    @classmethod
    def of(cls, lack: Missing, concealed: NDArray[np.bool_], unseen: NDArray[np.int8]) -> Demands:
        """Make demands from what each lacks: (n, 35) arrays, (n,) concealed, (35,) unseen."""
        own, rest = signatures(lack, unseen)
        return cls(own, rest, concealed, lack.at)


def _read(
    demands: Demands, rows: list[int], unseen: NDArray[np.int8]
) -> tuple[dict[int, tuple[Own, ...]], dict[int, _RestStates]]:
    """Read the states behind the signatures of some demands."""
    own_states: dict[int, tuple[Own, ...]] = {}
    rest_states: dict[int, _RestStates] = {}
    lack = demands.lack(np.array(rows, np.intp))
    for row, plain, grouped in zip(rows, lack.plain.tolist(), lack.grouped.tolist(), strict=True):
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
        own_states[int(demands.own[row])] = tuple(sorted(own))
        rest_states[int(demands.rest[row])] = (tuple(sorted(shared)), tuple(sorted(mixed)))
    return own_states, rest_states


def _remember(own_states: dict[int, tuple[Own, ...]], rest_states: dict[int, _RestStates]) -> None:
    """Keep states for later questions; forget all others first when there are too many."""
    if len(_own_states) + len(_rest_states) > _MAX_REMEMBERED:
        _own_states.clear()
        _rest_states.clear()
    _own_states.update(own_states)
    _rest_states.update(rest_states)


def reach_of(demands: Demands, outlook: Outlook, unseen: NDArray[np.int8]) -> NDArray[np.float64]:
    """Return the reach of each demand.

    Args:
        demands: The demands.
        outlook: Pool sizes and arrivals.
        unseen: (35,) naturals of each kind not seen.

    Returns:
        (n,) probabilities in [0, 1].
    """
    if not len(demands.own):
        return np.zeros(0)
    own_keys, own_row, own_of = np.unique(demands.own, return_index=True, return_inverse=True)
    rest_keys, rest_row, rest_of = np.unique(demands.rest, return_index=True, return_inverse=True)
    # Own copies: another thread may make the memory forget at any time.
    own_states = {key: own for key in own_keys.tolist() if (own := _own_states.get(key)) is not None}
    rest_states = {key: rest for key in rest_keys.tolist() if (rest := _rest_states.get(key)) is not None}
    unknown = {int(row) for key, row in zip(own_keys.tolist(), own_row, strict=True) if key not in own_states}
    unknown |= {
        int(row) for key, row in zip(rest_keys.tolist(), rest_row, strict=True) if key not in rest_states
    }
    if unknown:
        read = _read(demands, sorted(unknown), unseen)
        own_states |= read[0]
        rest_states |= read[1]
        _remember(*read)
    hidden = demands.concealed & (outlook.arrivals.mean_claims > 0)
    pair = (own_of * len(rest_keys) + rest_of) * 2 + hidden
    pairs, pair_of = np.unique(pair, return_inverse=True)
    values = _values(
        [own_states[key] for key in own_keys.tolist()],
        [rest_states[key] for key in rest_keys.tolist()],
        pairs // 2 // len(rest_keys),
        pairs // 2 % len(rest_keys),
        (pairs % 2).astype(bool),
        outlook,
    )
    # Rounding may carry a certain target a little beyond 1.
    return np.minimum(values, 1.0)[pair_of]


def _values(
    own_states: list[tuple[Own, ...]],
    rest_states: list[_RestStates],
    own_at: NDArray[np.intp],
    rest_at: NDArray[np.intp],
    hidden: NDArray[np.bool_],
    outlook: Outlook,
) -> NDArray[np.float64]:
    """Evaluate distinct demands, grouped by the kernel they use."""
    own_kinds = [sum(unseen for _, unseen in states) for states in own_states]
    rest_kinds = [(sum(unseen for _, unseen in shared), mixed) for shared, mixed in rest_states]
    owns = _Buckets(own_kinds, [own_polynomial(states) for states in own_states])
    rests = _Buckets(rest_kinds, [shared_polynomial(shared).ravel() for shared, _ in rest_states])
    concealed_outlook = replace(outlook, arrivals=outlook.arrivals.without_claims())
    group = (owns.bucket[own_at] * len(rests.names) + rests.bucket[rest_at]) * 2 + hidden
    order = np.argsort(group, kind="stable")
    starts = np.flatnonzero(np.diff(group[order], prepend=-1))
    own_row, rest_row = owns.row[own_at], rests.row[rest_at]
    values = np.zeros(len(group))
    for members in np.split(order, starts[1:]):
        first = members[0]
        own, rest = owns.bucket[own_at[first]], rests.bucket[rest_at[first]]
        own_size = owns.names[own]
        shared_size, mixed = rests.names[rest]
        chances = kernel(concealed_outlook if hidden[first] else outlook, own_size, shared_size, mixed)
        left = owns.rows[own][own_row[members]]
        right = rests.rows[rest][rest_row[members]]
        met = left @ chances.reshape(own_size + 1, (shared_size + 1) * (MAX_JOKERS + 1))
        values[members] = np.einsum("ij,ij->i", met, right)
    return values


Name = TypeVar("Name", bound=Hashable)


class _Buckets(Generic[Name]):
    """Polynomials stacked by what kernel they need.

    Attributes:
        names: What tells a bucket from the others.
        bucket: (n,) bucket of each polynomial.
        row: (n,) its row there.
        rows: Per bucket, its polynomials as one array.
    """

    def __init__(self, names: list[Name], polynomials: list[NDArray[np.float64]]) -> None:
        number: dict[Name, int] = {}
        stacks: list[list[NDArray[np.float64]]] = []
        buckets, row = [], []
        for name, polynomial in zip(names, polynomials, strict=True):
            bucket = number.setdefault(name, len(stacks))
            if bucket == len(stacks):
                stacks.append([])
            buckets.append(bucket)
            row.append(len(stacks[bucket]))
            stacks[bucket].append(polynomial)
        self.names = list(number)
        self.bucket, self.row = np.array(buckets, np.intp), np.array(row, np.intp)
        self.rows = [np.array(stack) for stack in stacks]
