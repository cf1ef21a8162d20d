"""A question to the API, made from the options of the command line."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any

import click

from clients.cli.card_source import card_of

ROUNDS = (
    "first_right",
    "first_across",
    "first_left",
    "second_left",
    "second_across",
    "second_right",
    "courtesy",
)
SORTS = {"family": "families", "hand": "hands", "trait": "traits"}
_TOP = (
    *("round", "give", "seen", "alternatives", "hands", "why", "effort"),
    *("courtesy", "samples", "seed", "rounds", "start", "tiles", "difficulty", "family", "jokers"),
    *("heap", "answers"),
)
_ARRIVALS = ("charleston", "draws", "claims")
# Option: the member it says, another member of the same object, and the option that says that one.
_NESTED = {
    "drill": ("exchanges_left", "then_draws", "then_draws"),
    "look_ahead": ("samples", "seed", "look_ahead_seed"),
}
_LIMITS = ("stay", "go", "no_pairs", "no_flowers", "no_neighbours", "keep_hands", "keep_families")


def round_name(written: str) -> str:
    """Return a round's name as the API writes it; ``-`` and ``_`` are the same here.

    Raises:
        click.BadParameter: no such round.
    """
    found = written.strip().lower().replace("-", "_").replace(" ", "_")
    if found not in ROUNDS:
        named = ", ".join(name.replace("_", "-") for name in ROUNDS)
        raise click.BadParameter(f"{written!r} is none of: {named}")
    return found


def number(written: str) -> float:
    """Return a finite number.

    Raises:
        click.BadParameter: not one.
    """
    try:
        read = float(written)
    except ValueError:
        read = math.nan
    if not math.isfinite(read):
        raise click.BadParameter(f"{written!r} is not a number")
    return read


def weight(written: str) -> tuple[str, float]:
    """Return hand and weight from ``HAND=NUMBER``; the last ``=`` parts them, since a name may have one.

    Raises:
        click.BadParameter: not of that form.
    """
    hand, equals, value = written.rpartition("=")
    if not equals or not hand:
        raise click.BadParameter(f"{written!r} is not of the form HAND=NUMBER")
    return hand, number(value)


def at_least(written: str) -> dict[str, Any]:
    """Return count and reach from ``N:REACH``, such as ``3:0.05`` or ``3:5%``.

    Raises:
        click.BadParameter: not of that form.
    """
    count, _, reach = written.partition(":")
    if not (count.isascii() and count.isdigit() and len(count) < 9 and reach):
        raise click.BadParameter(f"{written!r} is not of the form N:REACH, such as 3:0.05 or 3:5%")
    value = number(reach.removesuffix("%"))
    return {"count": int(count), "reach": value / 100 if reach.endswith("%") else value}


def question_of(options: Mapping[str, Any]) -> dict[str, Any]:
    """Return the part of a request that the options say; what was not said is left to the service.

    Args:
        options: Values by option name, None (or nothing) for an option not given.

    Raises:
        UsageFault: a card file that cannot be used.
        click.UsageError: some of the three arrivals without the others, or a part of something that
            was not asked for.
    """
    question = _said(options, _TOP)
    if options.get("card") is not None:
        question["card"] = card_of(options["card"])
    arrivals, limits = _said(options, _ARRIVALS), _said(options, _LIMITS)
    if 0 < len(arrivals) < len(_ARRIVALS):
        raise click.UsageError("--charleston, --draws and --claims go together: give all three or none")
    for part in ("only", "without"):
        names = {plural: list(options.get(f"{part}_{one}") or ()) for one, plural in SORTS.items()}
        if any(names.values()):
            limits[part] = {plural: chosen for plural, chosen in names.items() if chosen}
    if options.get("weight"):
        limits["weights"] = dict(options["weight"])
    for option, (member, more, other) in _NESTED.items():
        if options.get(option) is not None:
            question[option] = {member: options[option]}
            if options.get(other) is not None:
                question[option][more] = options[other]
        elif options.get(other) is not None:
            raise click.UsageError(f"--{other} needs --{option}".replace("_", "-"))
    if arrivals:
        question["arrivals"] = arrivals
    if limits:
        question["limits"] = limits
    return question


def _said(options: Mapping[str, Any], names: Iterable[str]) -> dict[str, Any]:
    # A number 0 is said, although Python takes it for equal to False.
    return {
        name: options[name] for name in names if options.get(name) is not None and options[name] is not False
    }


def filled(line: Mapping[str, Any], options: Mapping[str, Any]) -> dict[str, Any]:
    """Return a line's request, with what it leaves out taken from the options.

    Inside ``limits``, ``arrivals``, ``drill`` and ``look_ahead`` the same holds part by part; a card is
    never mixed from two.
    """
    whole = {**options, **line}
    for part in ("limits", "arrivals", *_NESTED):
        ours, theirs = options.get(part), line.get(part)
        if isinstance(ours, dict) and isinstance(theirs, dict):
            whole[part] = {**ours, **theirs}
    return whole
