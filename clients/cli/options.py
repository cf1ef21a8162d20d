"""The options that commands share, and the question to the service that is made of what they say."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from api.service import ROUNDS
from clients.cli.output import UsageFault, content_of
from clients.cli.service import Service, shape_of_threepass

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
ROUND_NAMES = ", ".join(name.replace("_", "-") for name in ROUNDS)
EXIT_CODES = (
    "Exit codes: 0 answered, 1 refused, 2 wrong usage, 3 no server reached, 5 not written, 130 interrupted."
)
_MAX_CARD, _MAX_FIT = 1_000_000, 20_000
_THOSE = {"family": "hands of this family", "hand": "this hand", "trait": "hands with this trait"}
_SORTS = {"family": "families", "hand": "hands", "trait": "traits"}
_TOP = (
    *("round", "give", "seen", "objective", "alternatives", "hands", "why", "gives_away", "mine"),
    *("courtesy", "samples", "seed", "rounds", "start", "tiles", "difficulty", "family", "jokers"),
    *("heap", "answers"),
)
_ARRIVALS = ("charleston", "draws", "claims")
# The names of options for limits begin with this inside the command, so that none meets another option's.
_LIMIT = "limit_"
_LIMITS, _TRAITS = "clients.cli.options.limits", "clients.cli.options.traits"


def spelled(round_: str) -> str:
    """Return a round's name with the service's small letters and ``_``, whether or not it is one."""
    return round_.strip().lower().replace("-", "_").replace(" ", "_")


def round_name(written: str) -> str:
    """Return a round's name as the service writes it.

    Raises:
        click.BadParameter: no such round.
    """
    found = spelled(written)
    if found not in ROUNDS:
        raise click.BadParameter(f"{written!r} is none of: {ROUND_NAMES}")
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
    """Return count and reach (a share) from ``N:CHANCE``, such as ``3:5%`` or ``3:0.05``.

    Raises:
        click.BadParameter: not of that form, or a percentage without its sign.
    """
    count, _, chance = written.partition(":")
    if not (count.isascii() and count.isdigit() and len(count) < 9 and chance):
        raise click.BadParameter(f"{written!r} is not of the form N:CHANCE, such as 3:5%")
    value = number(chance.removesuffix("%"))
    if chance.endswith("%"):
        return {"count": int(count), "reach": value / 100}
    if value >= 1:
        raise click.BadParameter(f"{written!r}: for {chance} percent write {written}%")
    return {"count": int(count), "reach": value}


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
                f"--{part}-{sort}", multiple=True, metavar="NAME", help=f"{says} {those} (repeatable)."
            )
            for sort, those in _THOSE.items()
        )
    )


rack = click.argument("rack", nargs=-1, required=True)
server = click.option(
    "--server", metavar="URL", help="Ask this server; without it the same service runs in this process."
)
as_json = click.option(
    "--json", "as_json", is_flag=True, help="Print the service's answer as it is, in JSON."
)
round_ = click.option("--round", type=round_name, metavar="NAME", help="Which pass: one of the rounds below.")
card = click.option(
    "--card", metavar="NAME_OR_FILE", help="A card the service has, or a TOML file of your own."
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
hands_that_count = together(
    _names("only", "Count only"),
    _names("without", "Leave out"),
    click.option(
        "--weight",
        type=weight,
        multiple=True,
        metavar="HAND=NUMBER",
        help="How much a hand counts; 1 is usual.",
    ),
    objective,
)
same_samples = whole("--seed", "The same number gives the same samples; 0 by default.")
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
    """A command about passes: its options for limits on them are made from the service's list of limits.

    The service that ``--server`` names is therefore opened before the options are read, and stands in the
    context's ``obj``.
    """

    tiles_can_be_named = True

    def parse_args(self, context: click.Context, args: list[str]) -> list[str]:
        """Open the service, make the options of its limits, and read the arguments."""
        try:
            context.obj = context.with_resource(Service(_server_in(args)))
            answer = context.obj.get("/v1/limits").answer()
            with shape_of_threepass():
                made = [
                    _option_of(limit)
                    for limit in answer["limits"]
                    if self.tiles_can_be_named or limit["sort"] != "tiles"
                ]
                context.meta[_LIMITS] = [option for option in made if option is not None]
                context.meta[_TRAITS] = [(trait["name"], trait["sentence"]) for trait in answer["traits"]]
            return super().parse_args(context, args)
        except BaseException:
            context.close()
            raise

    def get_params(self, ctx: click.Context) -> list[click.Parameter]:
        """Return the options, those for limits behind those that say which hands count."""
        own = super().get_params(ctx)
        place = 1 + max((at for at, option in enumerate(own) if option.name == "weight"), default=-1)
        return [*own[:place], *ctx.meta.get(_LIMITS, []), *own[place:]]

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List rounds and traits of hands before what else is to say."""
        if any(option.name == "round" for option in self.params):
            with formatter.section("Rounds"):
                formatter.write_dl(_ROUNDS_TOLD)
        if traits := ctx.meta.get(_TRAITS):
            with formatter.section("Traits of hands"):
                formatter.write_dl(traits)
        super().format_epilog(ctx, formatter)


class DealCommand(PassCommand):
    """A command about passes from racks that are yet to be dealt: no tiles can be named in its limits."""

    tiles_can_be_named = False


def _server_in(args: Sequence[str]) -> str | None:
    """Return the server that is named, the last one if there are several."""
    named = None
    for argument, following in zip(args, [*args[1:], None], strict=False):
        if argument == "--server":
            named = following
        elif argument.startswith("--server="):
            named = argument.partition("=")[2]
    return named


def _option_of(limit: Mapping[str, Any]) -> click.Option | None:
    """Return the option for a limit; None for one of a sort that is newer than this command."""
    names = ["--" + limit["name"].replace("_", "-"), _LIMIT + limit["name"]]
    says = limit["sentence"]
    if limit["sort"] == "yes-no":
        return click.Option(names, is_flag=True, help=f"{says}.")
    if limit["sort"] == "tiles":
        return click.Option(names, metavar="TILES", help=f"{says}.")
    if limit["sort"] == "at-least":
        return click.Option(
            names, type=at_least, metavar="N:CHANCE", help=f"{says}; such as 3:5% for three at 5 percent."
        )
    return None


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
    arrivals = _said(options, _ARRIVALS)
    named = [name for name in options if name.startswith(_LIMIT)]
    limits = {name.removeprefix(_LIMIT): value for name, value in _said(options, named).items()}
    if 0 < len(arrivals) < len(_ARRIVALS):
        raise click.UsageError("--charleston, --draws and --claims go together: give all three or none")
    for part in ("only", "without"):
        names = {plural: list(options.get(f"{part}_{one}") or ()) for one, plural in _SORTS.items()}
        if any(names.values()):
            limits[part] = {plural: chosen for plural, chosen in names.items() if chosen}
    if options.get("weight"):
        limits["weights"] = dict(options["weight"])
    if options.get("drill") is not None:
        question["drill"] = {"exchanges_left": options["drill"], **_said(options, ["then_draws"])}
    elif options.get("then_draws") is not None:
        raise click.UsageError("--then-draws needs --drill")
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

    Inside ``limits``, ``arrivals`` and ``drill`` the same holds part by part; a card is never mixed from two.
    """
    whole = {**options, **line}
    for part in ("limits", "arrivals", "drill"):
        ours, theirs = options.get(part), line.get(part)
        if isinstance(ours, dict) and isinstance(theirs, dict):
            whole[part] = {**ours, **theirs}
    return whole


def card_of(written: str) -> str | dict[str, Any]:
    """Return a card as the service takes it: a file's text for a path, else the name as it is.

    A path is what ends with ``.toml`` or is the path of a file that exists.

    Raises:
        UsageFault: a path whose file cannot be used.
    """
    return card_from(written) if written.endswith(".toml") or _is_file(written) else written


def card_from(path: str) -> dict[str, Any]:
    """Return the text of a card file with its base name, for the service to read, and that of its fit.

    Raises:
        UsageFault: no such file, over 1 MB, or not UTF-8.
    """
    card = {"toml": _text_of(path, _MAX_CARD), "file": Path(path).name}
    fit = path.removesuffix(".toml") + ".fit.toml"
    return {**card, "fit": _text_of(fit, _MAX_FIT)} if _is_file(fit) else card


def _text_of(path: str, most: int) -> str:
    try:
        return content_of(path, most).decode("utf-8")
    except UnicodeDecodeError as error:
        raise UsageFault([f"{path}: not UTF-8 at byte {error.start}"]) from None


def _is_file(written: str) -> bool:
    try:
        return Path(written).is_file()
    except (OSError, ValueError):  # a name too long for a path, or with a NUL in it
        return False
