"""Limits from the wire to the solver, and back in words."""

from __future__ import annotations

from api.wire.limits import AtLeastBody, ChoiceBody, LimitsBody
from patterns.tiles import Tile
from solver.limits import AtLeast, Choice, Limits


def limits_of(body: LimitsBody, stay: tuple[Tile, ...], go: tuple[Tile, ...]) -> Limits:
    """Return the solver's limits; the tiles were read already."""
    return Limits.of(
        stay=stay,
        go=go,
        only=_choice(body.only),
        without=_choice(body.without),
        weights=tuple(body.weights.items()),
        no_pairs=body.no_pairs,
        no_flowers=body.no_flowers,
        no_neighbours=body.no_neighbours,
        no_like_numbers=body.no_like_numbers,
        keep_hands=_at_least(body.keep_hands),
        keep_families=_at_least(body.keep_families),
    )


def _choice(body: ChoiceBody) -> Choice:
    return Choice(tuple(body.families), tuple(body.hands), tuple(body.traits))


def _at_least(body: AtLeastBody | None) -> AtLeast | None:
    return None if body is None else AtLeast(body.count, body.reach)


def limits_in_words(limits: Limits) -> list[str]:
    """Return one sentence a limit, in a fixed order."""
    says = [limit.says for limit in limits.on_pass]
    for choice, start in ((limits.only, "only hands of"), (limits.without, "no hands of")):
        if choice:
            says.append(f"{start} {_named(choice)} count")
    says += [f"{name!r} weighs {weight:g}" for name, weight in sorted(limits.weights)]
    return says


def _named(choice: Choice) -> str:
    parts = [
        ("the families", [repr(name) for name in choice.families]),
        ("the names", [repr(name) for name in choice.hands]),
        ("the traits", [trait.value for trait in choice.traits]),
    ]
    return " or ".join(f"{sort} {', '.join(names)}" for sort, names in parts if names)
