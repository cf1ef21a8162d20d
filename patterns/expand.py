"""From a hand's open groups to its targets: every choice of suits, rank, winds and dragons."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, permutations, product
from math import perm, prod

from patterns.card import HAND_SIZE, Target, tile_group
from patterns.faults import Fault, FaultyInputError
from patterns.notation import RANKS, AnyOf, DragonOf, Numbered, OpenGroup, OpenTile
from patterns.stopping import check_stop
from patterns.tiles import DRAGON_OF, DRAGONS, WINDS, Suit, Tile, counted, number_word, numbered

# "n odd" names no limits of its own: it keeps those of the ranks that fit.
_PARITIES = (tuple(RANKS[::2]), tuple(RANKS[1::2]))
_SUITS = tuple(Suit)
Choice = dict[str, Suit | Tile]


def _ranks(groups: Sequence[OpenGroup], where: Sequence[int] | None) -> tuple[list[int], list[Fault]]:
    """Return the values of n to try: without a condition, all that keep every rank in 1-9."""
    free = [g.tile.rank for g in groups if isinstance(g.tile, Numbered) and g.tile.rank.free]
    if not free:
        return [0], [Fault("where", (), "there is a condition on n but no n in the groups")] if where else []
    highest = max(rank.offset for rank in free)
    fitting = [n for n in RANKS if n + highest in RANKS]
    if where is None or tuple(where) in _PARITIES:
        return [n for n in fitting if where is None or n in where], []
    outside = [n for n in where if n not in fitting]
    if outside:
        return [], [Fault("where", (), f"n = {outside[0]} makes rank {outside[0] + highest}, beyond 9")]
    return list(where), []


def _open_names(groups: Sequence[OpenGroup]) -> list[tuple[list[str], Sequence[Suit | Tile]]]:
    """Return the names that are open with what they stand for: letters of suits, winds, dragons."""
    tiles = [group.tile for group in groups]
    suits = [tile.suit for tile in tiles if isinstance(tile, Numbered | DragonOf)]
    stands_for: dict[str, Sequence[Suit | Tile]] = {
        **{suit: _SUITS for suit in suits if isinstance(suit, str)},
        **{tile.name: tile.kinds for tile in tiles if isinstance(tile, AnyOf)},
    }
    return [
        (sorted(name for name, of in stands_for.items() if of == kinds), kinds)
        for kinds in (_SUITS, WINDS, DRAGONS)
    ]


def _mixture_faults(groups: Sequence[OpenGroup]) -> list[Fault]:
    return [
        Fault("mixed-names", (), f"{word!r} beside {names[1]!r}: write {word}1 and {word}2 for two")
        for word, (names, _) in zip(("wind", "dragon"), _open_names(groups)[1:], strict=True)
        if word in names and len(names) > 1
    ]


def choice_count(groups: Sequence[OpenGroup]) -> int:
    """Return how many choices `expand` tries, before equal targets merge; at most 9 * 6 * 12 * 6."""
    has_rank = any(isinstance(g.tile, Numbered) and g.tile.rank.free for g in groups)
    ways = (perm(len(kinds), len(names)) for names, kinds in _open_names(groups))
    return (len(RANKS) if has_rank else 1) * prod(ways)


def _choices(groups: Sequence[OpenGroup]) -> Iterator[Choice]:
    names, kinds = zip(*_open_names(groups), strict=True)
    for picked in product(*(permutations(some, len(of)) for of, some in zip(names, kinds, strict=True))):
        yield dict(zip(chain(*names), chain(*picked), strict=True))


def _concrete(tile: OpenTile, n: int, choice: Choice) -> Tile:
    if isinstance(tile, Tile):
        return tile
    if isinstance(tile, AnyOf):
        picked = choice[tile.name]
        assert isinstance(picked, Tile)
        return picked
    suit = tile.suit if isinstance(tile.suit, Suit) else choice[tile.suit]
    assert isinstance(suit, Suit)
    return DRAGON_OF[suit] if isinstance(tile, DragonOf) else numbered(tile.rank.at(n), suit)


def expand(groups: Sequence[OpenGroup], where: Sequence[int] | None) -> list[Target]:
    """Return the distinct targets of one alternative, in a fixed order.

    The suit letters p, q, r stand for different suits; they may coincide with a suit that is named
    outright. ``wind1``/``wind2`` and ``dragon1``/``dragon2`` are different from each other. A condition
    allows some values of n.

    Raises:
        FaultyInputError: the groups do not make 14 tiles, the condition does not fit, names are mixed,
            or no choice gives a target that the set can make.
    """
    size = sum(group.count for group in groups)
    faults = _mixture_faults(groups)
    if size != HAND_SIZE:
        faults.append(Fault("wrong-count", (), f"{size} tiles: a hand has {HAND_SIZE}"))
    ranks, rank_faults = _ranks(groups, where)
    faults += rank_faults
    if faults:
        raise FaultyInputError(faults)
    targets: dict[object, Target] = {}
    for n, choice in product(ranks, _choices(groups)):
        check_stop()
        target = Target(tuple(tile_group(_concrete(g.tile, n, choice), g.count) for g in groups))
        targets.setdefault(target.needs, target)
    possible = [target for target in targets.values() if target.possible]
    if not possible:
        raise FaultyInputError([Fault("no-target", (), _why_impossible(targets.values()))])
    return possible


def _why_impossible(targets: Iterable[Target]) -> str:
    for target in targets:
        for tile, plain, _ in target.needs:
            if plain > tile.copies:
                return (
                    f"no target can be made: singles and pairs ask for {counted(tile, plain)}, the set holds"
                    f" {number_word(tile.copies)}, and a joker may not stand in a single or a pair"
                )
        jokers = counted(Tile.JOKER, target.jokers_needed)
        return f"no target can be made: it needs {jokers}, the set holds {number_word(Tile.JOKER.copies)}"
    return "no target can be made: no value of n fits"
