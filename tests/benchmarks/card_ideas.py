"""The ideas that the practice cards are made from: every shape of each, and what no target may be.

Every family of hands is one idea. Its shapes are all the sizes, offsets, suits and fillers that the idea
allows; `make_cards` throws out what falls under `KEPT_AWAY`, target by target, and chooses among the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations, product

from patterns.card import Target
from patterns.tiles import DRAGON_OF, WINDS, Suit, Tile

# What no target of a practice card may be.


def ranks_of(target: Target) -> list[int]:
    return sorted({group.tile.rank for group in target.groups if group.tile.rank})


def kinds_of(target: Target) -> set[Tile]:
    return {tile for tile, _, _ in target.needs}


def suits_of(target: Target) -> dict[Suit, dict[int, int]]:
    """Return, suit by suit, how many tiles of each rank, ranks ascending."""
    suits: dict[Suit, dict[int, int]] = {}
    for tile, plain, grouped in target.needs:
        if tile.rank and tile.suit:
            suits.setdefault(tile.suit, {})[tile.rank] = plain + grouped
    return {suit: dict(sorted(sizes.items())) for suit, sizes in suits.items()}


def _unbroken(ranks: Iterable[int]) -> bool:
    some = sorted(ranks)
    return len(some) > 1 and some[-1] - some[0] == len(some) - 1


def _sizes_in_steps(target: Target) -> bool:
    """Three neighbors of a suit whose sizes grow or shrink by one."""
    return any(
        all(rank + i in suit for i in range(3))
        and suit[rank + 2] - suit[rank + 1] == suit[rank + 1] - suit[rank] in (1, -1)
        for suit in suits_of(target).values()
        for rank in suit
    )


def _rank_in_three_suits(target: Target) -> bool:
    suits = list(suits_of(target).values())
    return len(suits) == 3 and any(all(suit.get(rank, 0) > 1 for suit in suits) for rank in suits[0])


def _like_pairs_in_two_suits(target: Target) -> bool:
    paired = [[r for r, n in suit.items() if n == 2] for suit in suits_of(target).values()]
    return any(a == b and len(a) > 1 for a, b in combinations(paired, 2))


def _run_in_one_suit(target: Target) -> bool:
    suits = list(suits_of(target).values())
    return len(suits) == 1 and _unbroken(suits[0])


def _of_own_suits(target: Target) -> bool:
    return any(DRAGON_OF[suit] in kinds_of(target) for suit in suits_of(target))


def _many_winds(target: Target) -> bool:
    return len(kinds_of(target) & {*WINDS}) > (1 if ranks_of(target) else 2)


KEPT_AWAY: dict[str, Callable[[Target], bool]] = {
    "lines of one parity": lambda target: len({rank % 2 for rank in ranks_of(target)}) == 1,
    "only multiples of three": lambda target: {rank % 3 for rank in ranks_of(target)} == {0},
    "one suit, its ranks in an unbroken run": _run_in_one_suit,
    "three or more ranks in an unbroken run over the suits": lambda target: (
        len(ranks_of(target)) > 2 and _unbroken(ranks_of(target))
    ),
    "neighbors whose sizes go by ones": _sizes_in_steps,
    "one rank and no other": lambda target: len(ranks_of(target)) == 1,
    "one rank in three suits, two or more of each": _rank_in_three_suits,
    "dragons of suits that are there": _of_own_suits,
    "like pairs in two suits": _like_pairs_in_two_suits,
    "numbers with two winds, or three winds": _many_winds,
    "white beside a 2 and at most one other rank": lambda target: (
        Tile.WHITE in kinds_of(target) and 2 in ranks_of(target) and len(ranks_of(target)) < 3
    ),
}


def faults_of(target: Target) -> list[str]:
    """Return what a target falls under, in words; nothing for one that may be on a card."""
    return [name for name, test in KEPT_AWAY.items() if test(target)]


# Ideas, and every shape of each.


def _tile(offset: int, suit: str) -> str:
    return f"(n+{offset}){suit}" if offset else f"n{suit}"


def _filled(*parts: tuple[str, tuple[int, ...]]) -> Iterator[tuple[str, ...]]:
    """Yield every choice of sizes that makes 14 tiles; size 0 leaves a part out."""
    for sizes in product(*(options for _, options in parts)):
        if sum(sizes) == 14:
            yield (" ".join(f"{tile}*{n}" for (tile, _), n in zip(parts, sizes, strict=True) if n),)


FLOWERS = (0, 2, 3, 4)


def terraces() -> Iterator[tuple[str, ...]]:
    """Three ranks in a window of four, with a gap in it."""
    for ranks in ((0, 1, 3), (0, 2, 3)):
        for suits in ("ppq", "pqp", "pqq", "pqr"):
            tiles = [_tile(rank, suit) for rank, suit in zip(ranks, suits, strict=True)]
            yield from _filled(("flower", (2, 3, 4, 5)), *((tile, (2, 3, 4)) for tile in tiles))
            other = "q" if suits[0] == "p" else "p"
            yield from _filled(
                ("flower", (2, 3, 4)),
                *((tile, (2, 3, 4)) for tile in tiles),
                (_tile(ranks[1], other if suits[1] != other else "p"), (1, 2)),
            )


def scales() -> Iterator[tuple[str, ...]]:
    """Two ranks that add up to ten, and a tongue that leans from the lower to the middle."""
    for tongue, suits in product((1, 2, 3), ("pqr", "ppq", "pqq")):
        for sizes in product((3, 4, 2), (3, 4, 2), (1, 2, 3, 4)):
            flowers = 14 - sum(sizes)
            if flowers not in (2, 3, 4, 5, 6):
                continue
            written = []
            for a in (1, 2, 3, 4, 6, 7, 8, 9):
                middle = a + tongue if a < 5 else a - tongue
                ranks = (a, 10 - a, middle)
                if len(set(ranks)) < 3 or (a > 5 and suits[0] == suits[1] and sizes[0] == sizes[1]):
                    continue
                groups = [f"{r}{s}*{n}" for r, s, n in zip(ranks, suits, sizes, strict=True)]
                written.append(" ".join([f"flower*{flowers}", *groups]))
            yield tuple(written)


def bookends() -> Iterator[tuple[str, ...]]:
    """Bookends: two like groups of a suit with a gap between, and something else within it."""
    for gap in (3, 4, 5, 6, 7):
        for middle in range(1, gap):
            for ends in (3, 4):
                both = ((_tile(0, "p"), (ends,)), (_tile(gap, "p"), (ends,)))
                yield from _filled(both[0], ("flower", FLOWERS), (_tile(middle, "q"), (2, 3, 4)), both[1])
                yield from _filled(
                    both[0],
                    ("flower", (2, 3, 4)),
                    (_tile(middle, "q"), (1, 2)),
                    (_tile(middle, "r"), (1, 2)),
                    both[1],
                )


def answers() -> Iterator[tuple[str, ...]]:
    """A suit that answers another, the same figure two ranks up."""
    for second in (1, 3, 4, 5):
        for sizes in product((1, 2, 3, 4), (1, 2, 3, 4)):
            voices = [[_tile(2 * i, s), _tile(2 * i + second, s)] for i, s in enumerate("pqr")]
            two = " ".join(f"{tile}*{n}" for v in voices[:2] for tile, n in zip(v, sizes, strict=True))
            turned = " ".join(
                f"{tile}*{n}"
                for v, some in zip(voices[:2], (sizes, sizes[::-1]), strict=True)
                for tile, n in zip(v, some, strict=True)
            )
            rest = 14 - 2 * sum(sizes)
            if rest == 0:
                yield (two,)
            if rest in (2, 3, 4, 6):
                yield (f"{two} flower*{rest}",)
                yield (f"{turned} flower*{rest}",)
            if rest == 4:
                yield (f"{two} flower*2 dragon(r)*2",)
            if rest == 6:
                yield (f"{two} flower*3 dragon(r)*3",)
            if 3 * sum(sizes) in (12, 9) and 4 + second <= 7:
                three = " ".join(f"{tile}*{n}" for v in voices for tile, n in zip(v, sizes, strict=True))
                yield (f"{three} flower*{14 - 3 * sum(sizes)}",)


def reflections() -> Iterator[tuple[str, ...]]:
    """A figure of three, and its mirror image in another suit."""
    for figure in ((0, 1, 3), (0, 1, 4), (0, 2, 5), (0, 1, 5), (0, 3, 4), (0, 2, 3)):
        for sizes in product((1, 2, 3, 4), repeat=3):
            rest = 14 - 2 * sum(sizes)
            if rest not in (0, 2, 4, 6):
                continue
            image = [figure[2] - rank for rank in figure]
            groups = [f"{_tile(r, 'p')}*{n}" for r, n in zip(figure, sizes, strict=True)]
            groups += [f"{_tile(r, 'q')}*{n}" for r, n in zip(image[::-1], sizes[::-1], strict=True)]
            yield (" ".join(groups + ([f"flower*{rest}"] if rest else [])),)


def gardens() -> Iterator[tuple[str, ...]]:
    """Flowers round a core: one rank in two suits, and one rank at an odd distance."""
    for far in (1, 3, 5):
        for bed in (4, 5, 6):
            p, q, r = _tile(0, "p"), _tile(0, "q"), _tile(far, "r")
            yield from _filled(("flower", (bed,)), (p, (1, 2, 3)), (q, (2, 3, 4)), (r, (2, 3, 4)))
            q2 = _tile(far, "q")
            yield from _filled(("flower", (bed,)), (p, (2, 3, 4)), (q, (1, 2, 3)), (q2, (2, 3, 4)))
            yield from _filled(("flower", (bed,)), (p, (1, 2)), (q, (1, 2)), (q2, (2, 3)), (r, (2, 3)))


def chairs() -> Iterator[tuple[str, ...]]:
    """Two suits at play, and the dragon of the suit left out."""
    for ranks in ((0, 1, 3), (0, 2, 3), (0, 1, 4), (0, 3, 4), (0, 2, 5)):
        for suits in ("pqp", "pqq", "ppq"):
            tiles = [_tile(rank, suit) for rank, suit in zip(ranks, suits, strict=True)]
            yield from _filled(
                ("flower", FLOWERS), *((tile, (2, 3, 4)) for tile in tiles), ("dragon(r)", (1, 2, 3))
            )
    for far in (1, 3, 5):
        yield from _filled(
            ("flower", (2, 3, 4, 5)),
            (_tile(0, "p"), (3, 4)),
            (_tile(far, "q"), (3, 4)),
            ("dragon(r)", (2, 3, 4)),
        )


def winds() -> Iterator[tuple[str, ...]]:
    """A wind beside a narrow window, or winds alone."""
    for axis, ranks in product(
        (("north", "south"), ("east", "west")), ((0, 1), (0, 3), (0, 1, 3), (0, 2, 3))
    ):
        for suits in product("p", "pq", *["pq"] * (len(ranks) - 2)):
            tiles = [_tile(rank, suit) for rank, suit in zip(ranks, suits, strict=True)]
            for (text,) in _filled(
                ("flower", (2, 3, 4, 5)), *((tile, (2, 3, 4)) for tile in tiles), ("wind", (1, 2, 3))
            ):
                yield tuple(text.replace("wind", wind) for wind in axis)
    yield from _filled(
        ("wind1", (3, 4)), ("wind2", (2, 3, 4)), ("flower", (3, 4, 5)), ("dragon", (0, 2, 3, 4))
    )


def guests() -> Iterator[tuple[str, ...]]:
    """One that comes from outside: the dragon of the suit left out, or a wind."""
    yield from chairs()
    yield from winds()


def twins() -> Iterator[tuple[str, ...]]:
    """One rank in two suits, and two guests above it whose ranks differ."""
    for low, high in ((1, 3), (1, 4), (2, 3), (3, 4), (2, 5), (3, 5)):
        for guests in ("rr", "pq", "pr"):
            for size in (1, 2, 3):
                yield from _filled(
                    ("flower", FLOWERS),
                    (_tile(0, "p"), (size,)),
                    (_tile(0, "q"), (size,)),
                    (_tile(low, guests[0]), (2, 3, 4)),
                    (_tile(high, guests[1]), (2, 3, 4)),
                )


def stones() -> Iterator[tuple[str, ...]]:
    """Single tiles that lead from one bank to another."""
    for steps in ((1, 3, 4), (1, 2, 4), (2, 3, 5), (1, 3), (2, 3), (1, 4), (2, 5)):
        for beyond, suits, last in product((1, 2), ("ppp", "qqq", "pqp", "qpq"), ("p", "q", "r")):
            stepped = tuple((_tile(rank, suit), (1,)) for rank, suit in zip(steps, suits, strict=False))
            yield from _filled(
                (_tile(0, "p"), (2, 3, 4)),
                *stepped,
                (_tile(steps[-1] + beyond, last), (2, 3, 4)),
                ("flower", (2, 3, 4, 5)),
            )


def anchors() -> Iterator[tuple[str, ...]]:
    """One group of five or six, and light company."""
    for far, near in ((1, 3), (3, 1), (3, 4), (2, 3), (1, 4), (2, 5)):
        for suits in ("qq", "qr", "pq", "qp"):
            others = (_tile(far, suits[0]), _tile(near, suits[1]))
            yield from _filled(
                (_tile(0, "p"), (5, 6)), (others[0], (1, 2, 3)), (others[1], (2, 3)), ("flower", FLOWERS)
            )
            yield from _filled(
                ("flower", (5, 6)), (_tile(0, "p"), (2, 3, 4)), (others[0], (2, 3)), (others[1], (1, 2, 3))
            )


@dataclass(frozen=True)
class Family:
    """A family: its name on the card, the shapes of its idea, and the names of its hands."""

    name: str
    shapes: Callable[[], Iterator[tuple[str, ...]]]
    hands: str

    @property
    def idea(self) -> str:
        """The idea in a line."""
        return (self.shapes.__doc__ or "").rstrip(".")


FULL = (
    Family(
        "terraces",
        terraces,
        "Sail Loft, Harbor Steps, Net Shed, Gull Roost, Slate Roofs, Lamp Room, Crooked Lane",
    ),
    Family(
        "scales",
        scales,
        "Fish Market, Salt and Pepper, Coal Barge, Counterweight, Grain Lift, Brass Pans, Ballast",
    ),
    Family(
        "quays",
        bookends,
        "Moored Ferry, Two Bollards, Slack Rope, Sea Lock, Narrow Strait, Gangplank, Dry Dock",
    ),
    Family(
        "signals",
        answers,
        "Ship to Shore, Foghorn, Bell and Whistle, Two Lanterns, Passing Ships, Night Watch, Pilot",
    ),
    Family(
        "still water",
        reflections,
        "Heron, Moonlit Bay, Rock Pool, Wet Sand, Glass Float, Calm Sea, Mooring Ring",
    ),
    Family(
        "window boxes",
        gardens,
        "Sea Thrift, Herb Tub, Pea Vine, Balcony, Roses by the Inn, Bee Skep, Clay Pots",
    ),
    Family(
        "empty chairs",
        chairs,
        "Late Guest, Spare Hammock, Vacant Berth, Unsent Letter, Missing Oar, Corner Table, One Glove",
    ),
    Family(
        "weather side", winds, "Oilskins, Storm Lamp, Reefed Sail, Whitecaps, Lee Shore, Squall, Wet Washing"
    ),
    Family(
        "sisters",
        twins,
        "Matched Oars, Sister Ships, Two Kettles, Twin Gables, Cousins, Shared Umbrella, Same Hat",
    ),
    Family(
        "stepping stones",
        stones,
        "Low Tide, Shell Path, Sandbar, Duckboards, Crab Trail, Wading Birds, Pebbles",
    ),
    Family(
        "heavy freight",
        anchors,
        "Steam Crane, Big Tug, Iron Chain, Full Hold, Timber Raft, Millstone, Grand Piano",
    ),
)
SMALL = (
    Family("garden walks", stones, "Mown Path, Picker's Round, Long Grass, Windfalls"),
    Family("mill pond", reflections, "Willow, Duck and Shadow, Slow Water, Evening Sky"),
    Family("blossom time", gardens, "First Bloom, Petal Rain, Busy Bees, Plum and Pear"),
    Family("two ladders", twins, "Long Reach, High Branch, Shared Basket, Both Pockets"),
    Family("frost nights", guests, "Smudge Pot, Cold Snap, Straw Coat, Early Thaw"),
)
