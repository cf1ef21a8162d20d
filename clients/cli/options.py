"""The options that commands share, and the question to the service that is made of what they say.

What is written of an option's value is read here; what cannot be is a `click.BadParameter`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import click

from api.service import LIMITS, ROUNDS, TRAITS, Limit, Sort
from clients.cli.output import Exit, Failure, content_of
from clients.cli.service import Service

Command = Callable[..., Any]
Option = Callable[[Command], Command]

_ROUNDS_TOLD = (
    ("first-right, first-across, first-left", "The first Charleston, compulsory; the last may be blind."),
    (
        "second-left, second-across, second-right",
        "The second; any one player may stop it; the last may be blind.",
    ),
    ("courtesy", "None to three tiles; may follow either. The smaller wish decides."),
)
EXIT_CODES = (
    "Exit codes: 0 answered, 1 refused, 2 wrong usage, 3 no server reached, 5 not written, 130 interrupted."
)
_MAX_CARD, _MAX_FIT = 1_000_000, 20_000
_THOSE = {
    "family": ("families", "hands of this family"),
    "hand": ("hands", "this hand"),
    "trait": ("traits", "hands with this trait"),
}
_ARRIVALS = ("charleston", "draws", "claims")
# Where in a request stands what is not at its top under the option's own name.
_PLACES = {
    "drill": ("drill", "exchanges_left"),
    "then_draws": ("drill", "then_draws"),
    "weight": ("limits", "weights"),
    **{name: ("arrivals", name) for name in _ARRIVALS},
    **{limit.name: ("limits", limit.name) for limit in LIMITS},
    **{
        f"{part}_{one}": ("limits", part, many)
        for part in ("only", "without")
        for one, (many, _) in _THOSE.items()
    },
}


def spelled(round_: str) -> str:
    """Return a round's name with the service's small letters and ``_``, whether or not it is one."""
    return round_.strip().lower().replace("-", "_").replace(" ", "_")


def round_name(written: str) -> str:
    """Return a round's name as the service writes it."""
    found = spelled(written)
    if found not in ROUNDS:
        names = ", ".join(name.replace("_", "-") for name in ROUNDS)
        raise click.BadParameter(f"{written!r} is none of: {names}")
    return found


def number(written: str) -> float:
    """Return a finite number."""
    try:
        read = float(written)
    except ValueError:
        read = math.nan
    if not math.isfinite(read):
        raise click.BadParameter(f"{written!r} is not a number")
    return read


def weight(written: str) -> tuple[str, float]:
    """Return hand and weight from ``HAND=NUMBER``; the last ``=`` parts them, since a name may have one."""
    hand, equals, value = written.rpartition("=")
    if not equals or not hand:
        raise click.BadParameter(f"{written!r} is not of the form HAND=NUMBER")
    return hand, number(value)


def at_least(written: str) -> dict[str, Any]:
    """Return count and reach (a share) from ``N:CHANCE``, such as ``3:5%`` or ``3:0.05``."""
    count, _, chance = written.partition(":")
    if not (count.isascii() and count.isdigit() and len(count) < 9 and chance):
        raise click.BadParameter(f"{written!r} is not of the form N:CHANCE, such as 3:5%")
    value = number(chance.removesuffix("%"))
    if chance.endswith("%"):
        return {"count": int(count), "reach": value / 100}
    if value >= 1:
        raise click.BadParameter(f"{written!r}: for {chance} percent write {written}%")
    return {"count": int(count), "reach": value}


def card_of(written: str) -> str | dict[str, Any]:
    """Return a card as the service takes it: as `card_from` for a path, else the name as it is.

    A path is what ends with ``.toml`` or is the path of a file that exists.
    """
    return card_from(written) if written.endswith(".toml") or _is_file(written) else written


def card_from(path: str) -> dict[str, Any]:
    """Return the text of a card file with its base name, for the service to read, and that of its fit.

    That there is no such file, over 1 MB, or not of UTF-8 is a `Failure`.
    """
    card = {"toml": _text_of(path, _MAX_CARD), "file": Path(path).name}
    fit = path.removesuffix(".toml") + ".fit.toml"
    return {**card, "fit": _text_of(fit, _MAX_FIT)} if _is_file(fit) else card


def _text_of(path: str, most: int) -> str:
    try:
        return content_of(path, most).decode("utf-8")
    except UnicodeDecodeError as error:
        raise Failure(Exit.USAGE, f"{path}: not UTF-8 at byte {error.start}") from None


def _is_file(written: str) -> bool:
    try:
        return Path(written).is_file()
    except (OSError, ValueError):  # a name too long for a path, or with a NUL in it
        return False


def together(*options: Option) -> Option:
    """Return a decorator that adds several options, in this order."""

    def add(command: Command) -> Command:
        for option in reversed(options):
            command = option(command)
        return command

    return add


def whole(
    name: str, says: str, low: int | None = None, most: int | None = None, default: int | None = None
) -> Option:
    """Return an option that takes a whole number, from ``low`` to ``most`` where these are given."""
    kind = click.INT if low is most is None else click.IntRange(low, most)
    return click.option(name, type=kind, metavar="N", default=default, show_default=True, help=says)


def _names(part: str, says: str) -> Option:
    return together(
        *(
            click.option(
                f"--{part}-{one}", multiple=True, metavar="NAME", help=f"{says} {those} (repeatable)."
            )
            for one, (_, those) in _THOSE.items()
        )
    )


def _option_of(limit: type[Limit]) -> Option:
    name, says = "--" + limit.name.replace("_", "-"), limit.sentence
    if limit.sort is Sort.YES_NO:
        return click.option(name, is_flag=True, help=f"{says}.")
    if limit.sort is Sort.TILES:
        return click.option(name, metavar="TILES", help=f"{says}.")
    says += "; such as 3:5% for three at 5 percent."
    return click.option(name, type=at_least, metavar="N:CHANCE", help=says)


def hands_that_count(*sorts: Sort) -> Option:
    """Return the options that say which hands count, limits of these sorts on the pass, and the objective."""
    weights = click.option(
        "--weight",
        type=weight,
        multiple=True,
        metavar="HAND=NUMBER",
        help="How much a hand counts; 1 is usual.",
    )
    limits = [_option_of(limit) for limit in LIMITS if limit.sort in sorts]
    return together(_names("only", "Count only"), _names("without", "Leave out"), weights, *limits, objective)


rack = click.argument("rack", nargs=-1, required=True)
server = click.option(
    "--server",
    "service",
    metavar="URL",
    callback=lambda context, _option, url: context.with_resource(Service(url)),
    help="Ask this server; without it the same service runs in this process.",
)
as_json = click.option(
    "--json", "as_json", is_flag=True, help="Print the service's answer as it is, in JSON."
)
round_ = click.option("--round", type=round_name, metavar="NAME", help="Which pass: one of the rounds below.")
card = click.option(
    "--card", type=card_of, metavar="NAME_OR_FILE", help="A card the service has, or a TOML file of your own."
)
give = whole(
    "--give", "Own tiles to give, where blind or courtesy passes allow; without it every number is compared."
)
drill = together(
    whole(
        "--drill",
        "One-person drill: exchanges left, this one included. Its tiles come from a heap without jokers.",
    ),
    whole("--then-draws", "Tiles a drill draws after its exchanges."),
)
draws = whole("--draws", "Tiles you expect to draw from the wall.")
claims = whole("--claims", "Discards you expect to be able to call.")
arrivals = together(draws, claims, whole("--charleston", "Tiles still to come by exchanges."))
seen = click.option(
    "--seen", metavar="TILES", help="Tiles seen outside the rack, such as those you passed before."
)
objective = click.option(
    "--objective",
    type=str.lower,
    metavar="strength|sum",
    help="Compare passes by rack strength (usual) or by the plain sum of chances.",
)
same_samples = whole("--seed", "The same number gives the same samples; 0 by default.")
more_than = click.option(
    "--more-than",
    type=click.FloatRange(0, 100),
    default=3.0,
    show_default=True,
    metavar="PERCENT",
    callback=lambda _context, _option, percent: percent / 100,
    help="What a pass must have lost to be played again.",
)
same_deals = "The same number gives the same deals."
of_deals = together(
    whole("--tiles", "Tiles in a rack, 13 or 14."),
    click.option(
        "--difficulty",
        type=str.lower,
        metavar="any|clear|close",
        help="Whether the best first pass must stand out (clear) or others come near it (close).",
    ),
    click.option(
        "--family",
        metavar="NAME",
        help="Family of the likeliest hand; families are the card's own grouping of its hands.",
    ),
    whole("--jokers", "Exactly this many jokers in the rack."),
    whole("--budget", "Most deals to try; by default 400, or 8 for each one wanted if that is more.", 1),
)


class PassCommand(click.Command):
    """A command about passes: what it takes by name is listed behind its options."""

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List rounds and traits of hands before what else is to say."""
        if any(option.name == "round" for option in self.params):
            with formatter.section("Rounds"):
                formatter.write_dl(_ROUNDS_TOLD)
        with formatter.section("Traits of hands"):
            formatter.write_dl(list(TRAITS.items()))
        super().format_epilog(ctx, formatter)


def question_of(options: Mapping[str, Any]) -> dict[str, Any]:
    """Return the part of a request that the options say; what was not said is left to the service.

    Some of the three arrivals without the others are wrong usage, as are draws of no drill.
    """
    question: dict[str, Any] = {}
    for name, value in options.items():
        # A number 0 is said, although Python takes it for equal to False.
        if value is None or value is False or value == ():
            continue
        *parts, last = _PLACES.get(name, (name,))
        within = question
        for part in parts:
            within = within.setdefault(part, {})
        within[last] = dict(value) if name == "weight" else value
    if 0 < len(question.get("arrivals", _ARRIVALS)) < len(_ARRIVALS):
        raise click.UsageError("--charleston, --draws and --claims go together: give all three or none")
    if question.get("drill", {}).keys() == {"then_draws"}:
        raise click.UsageError("--then-draws needs --drill")
    return question


def filled(line: Mapping[str, Any], options: Mapping[str, Any]) -> dict[str, Any]:
    """Return a line's request, with what it leaves out taken from the options.

    Inside ``limits``, ``arrivals`` and ``drill`` the same holds part by part; a card is never mixed from two.
    """
    whole = {**options, **line}
    for part in ("limits", "arrivals", "drill"):
        ours, theirs = options.get(part), line.get(part)
        if isinstance(ours, dict) and isinstance(theirs, dict):
            whole[part] = {**ours, **theirs}
    return whole
