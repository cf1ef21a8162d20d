"""Cards as written: the form shared by TOML files and the wire, and files with the line of each fault."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from importlib import resources
from itertools import pairwise
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag, ValidationError

from patterns.card import Card, Hand, Target
from patterns.expand import choice_count, expand
from patterns.faults import MOST_FAULTS, Fault, FaultyInputError
from patterns.notation import parse_groups, parse_where

MAX_HANDS = 300
MAX_ALTERNATIVES = 12
MAX_TARGETS = 6_000
MAX_CHOICES = 20_000
MAX_NAME = 60
MAX_NOTATION = 400
MAX_WEIGHT = 1_000.0
SCHEMA_VERSION = 1
# A card's file, and that of the fit beside it.
CARD_ENDING, FIT_ENDING = ".toml", ".fit.toml"

Name = Annotated[str, Field(min_length=1, max_length=MAX_NAME, pattern=r"^[^\x00-\x1f\x7f]+$")]
Groups = Annotated[str, Field(min_length=1, max_length=MAX_NOTATION)]

_GroupsList = Annotated[list[Groups], Field(min_length=1, max_length=MAX_ALTERNATIVES)]
_ONE, _MANY = "one text", "alternatives"


class Form(BaseModel):
    """Something written: unknown members and silent conversions are refused."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class CardHead(Form):
    """The card's own facts."""

    name: Name = Field(description="The card's name")
    schema_version: int = Field(1, ge=1, le=SCHEMA_VERSION, description="Version of this form: 1")


class HandForm(Form):
    """One hand as written."""

    name: Name = Field(description="Unique on the card")
    family: Name = Field(description="The group of hands it belongs to, in your own words")
    groups: Annotated[
        Annotated[Groups, Tag(_ONE)] | Annotated[_GroupsList, Tag(_MANY)],
        Discriminator(lambda written: _MANY if isinstance(written, list | tuple) else _ONE),
    ] = Field(description="Groups such as `np*4 (n+5)q*4 north*3 flower*3`, or a list of alternatives")
    where: Annotated[str, Field(max_length=MAX_NOTATION)] | None = Field(
        None, description="A condition on n: `n in 1..7`, `n odd`, `n even`, or two joined by `and`"
    )
    concealed: bool = Field(False, description="Whether it may not claim discards except the last tile")
    weight: float = Field(
        1.0, ge=0, le=MAX_WEIGHT, allow_inf_nan=False, description="How much the player cares"
    )

    @property
    def alternatives(self) -> tuple[str, ...]:
        """The alternatives as a tuple, also when one string was written."""
        return (self.groups,) if isinstance(self.groups, str) else tuple(self.groups)


class CardForm(Form):
    """A card as written in TOML or JSON."""

    card: CardHead
    hand: list[HandForm] = Field(min_length=1, max_length=MAX_HANDS)


def _place(loc: tuple[str | int, ...]) -> tuple[str | int, ...]:
    """Drop pydantic's tag of the form that groups were taken for; a key of that name stays."""
    return tuple(
        step
        for before, step in zip(("", *loc), loc, strict=False)
        if before != "groups" or step not in (_ONE, _MANY)
    )


def shape_faults(error: ValidationError, model: str) -> list[Fault]:
    """Return the faults of something of the wrong shape, without echoing it; a ``model`` is expected."""
    return [
        Fault(
            wrong["type"].replace("_", "-"),
            _place(wrong["loc"]),
            f"{model} is expected here"
            if wrong["type"] == "model_type"
            else wrong["msg"][:1].lower() + wrong["msg"][1:],
        )
        for wrong in error.errors(include_url=False, include_input=False, include_context=False)
    ]


class _TooMuchError(Exception):
    """A card asks for more work than is allowed."""


class _Room:
    """How many choices of suits, ranks, winds and dragons a card may still try."""

    def __init__(self) -> None:
        self._left = MAX_CHOICES

    def take(self, choices: int) -> None:
        self._left -= choices
        if self._left < 0:
            raise _TooMuchError(f"more than {MAX_CHOICES} choices")


def _hand_targets(form: HandForm, room: _Room) -> list[Target]:
    """Return the distinct targets of all alternatives; raise the faults of all of them."""
    faults: list[Fault] = []
    where = None
    if form.where is not None:
        try:
            where = parse_where(form.where)
        except FaultyInputError as error:
            faults += error.inside("where").faults
    targets: dict[object, Target] = {}
    for index, written in enumerate(form.alternatives):
        place = ("groups",) if isinstance(form.groups, str) else ("groups", index)
        try:
            groups = parse_groups(written)
            room.take(choice_count(groups))
            for target in expand(groups, where):
                targets.setdefault(target.needs, target)
        except FaultyInputError as error:
            faults += [
                fault.inside("where") if fault.kind == "where" else fault.inside(*place)
                for fault in error.faults
            ]
    if faults:
        raise FaultyInputError(dict.fromkeys(faults))
    return list(targets.values())


def _name_faults(forms: Sequence[HandForm | None]) -> list[Fault]:
    seen: dict[str, int] = {}
    faults = []
    for index, form in enumerate(forms):
        if form is not None and (first := seen.setdefault(form.name, index)) != index:
            faults.append(Fault("same-name", ("hand", index, "name"), f"hand {first + 1} has the same name"))
    return faults


@dataclass(frozen=True)
class Draft:
    """A card as far as it can be made: a hand is None where it cannot, the name empty."""

    name: str
    hands: tuple[Hand | None, ...]
    faults: tuple[Fault, ...]

    def card(self) -> Card:
        """Return the card; raise its faults if there are any."""
        if self.faults:
            raise FaultyInputError(self.faults)
        return Card(self.name, tuple(hand for hand in self.hands if hand is not None))


def read_draft(written: object) -> Draft:
    """Read a card of any shape: what is wrong with one part hides no fault of another.

    A hand of the wrong shape is not expanded. Expansion stops at 6,000 targets or 20,000 choices in all. The
    detail of each fault inside a hand of the right shape begins with the hand's name.
    """
    try:
        form = CardForm.model_validate(written)
    except ValidationError as error:
        faults = shape_faults(error, "a table or object")
        found = written.get("hand") if isinstance(written, dict) else None
        listed = found if isinstance(found, list) and len(found) <= MAX_HANDS else []
        return _made("", [_hand_form(each) for each in listed], faults)
    return _made(form.card.name, form.hand, [])


def _hand_form(written: object) -> HandForm | None:
    try:
        return HandForm.model_validate(written)
    except ValidationError:
        return None


def _made(name: str, forms: Sequence[HandForm | None], faults: list[Fault]) -> Draft:
    faults += _name_faults(forms)
    hands: list[Hand | None] = [None] * len(forms)
    total, room = 0, _Room()
    for index, hand in enumerate(forms):
        if hand is None:
            continue
        if len(faults) >= MOST_FAULTS:
            detail = "the hands from here on are not read before these faults are mended"
            faults.append(Fault("unread", ("hand", index), detail))
            break
        try:
            targets = _hand_targets(hand, room)
            total += len(targets)
            if total > MAX_TARGETS:
                raise _TooMuchError(f"more than {MAX_TARGETS} targets")
        except _TooMuchError as error:
            detail = f"{error} up to hand {hand.name!r}: split the card"
            faults.append(Fault("too-many-targets", ("hand", index), detail))
            break
        except FaultyInputError as error:
            faults += [
                replace(fault, detail=f"hand {hand.name!r}: {fault.detail}").inside("hand", index)
                for fault in error.faults
            ]
            continue
        hands[index] = Hand(
            hand.name, hand.family, hand.alternatives, hand.where, hand.concealed, hand.weight, tuple(targets)
        )
    return Draft(name, tuple(hands), tuple(faults))


MAX_FILE = 1_000_000
_HEAD = re.compile(r"^\s*(\[\[?)\s*([A-Za-z_.]+)\s*\]")
_KEY = re.compile(r"^\s*\"?([A-Za-z_]+)\"?\s*=")
_PART = re.compile(r"^\s*\[\s*(card\s*|\[\s*hand\s*\])\]")
# tomllib takes time and memory with the square of a key's parts, so long ones are refused unread. The
# quantifiers are possessive: no text makes the search itself slow.
_KEY_PART = r"""(?:[A-Za-z0-9_-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+"""
_LONG_KEY = re.compile(rf"(?<![A-Za-z0-9_-])(?:{_KEY_PART}\.[ \t]*+){{8}}")
_AT_LINE = re.compile(r"at line (\d+)")


def lines_of(text: str) -> dict[tuple[str | int, ...], int]:
    """Map the places that have a line of their own in TOML to it, from 1: tomllib does not keep them."""
    found: dict[tuple[str | int, ...], int] = {}
    here: tuple[str | int, ...] = ()
    tables: Counter[str] = Counter()
    for number, line in enumerate(text.split("\n"), start=1):
        if head := _HEAD.match(line):
            here = tuple(head[2].split("."))
            if head[1] == "[[":
                here = (*here, tables[head[2]])
                tables[head[2]] += 1
            found.setdefault(here, number)
        elif key := _KEY.match(line):
            found.setdefault((*here, key[1]), number)
    return found


def line_of(place: tuple[str | int, ...], lines: dict[tuple[str | int, ...], int]) -> int | None:
    """Return the line of a place, or of the nearest part around it that has one."""
    while place and place not in lines:
        place = place[:-1]
    return lines.get(place)


def _part(place: tuple[str | int, ...], on_line: bool) -> str:
    """Say in words which part of a card a place is: ``groups, alternative 2``."""
    match place:
        case ("hand", int(index), *inner):
            words = [] if on_line and inner else [f"hand {index + 1}"]
        case ("card", str(key), *rest):
            words, inner = [], [key, *rest]
        case _:
            words, inner = [], list(place)
    words += [step if isinstance(step, str) else f"alternative {step + 1}" for step in inner]
    return "".join(f", {word}" for word in words)


def _on_line(fault: Fault, lines: dict[tuple[str | int, ...], int], name: str) -> Fault:
    line = line_of(fault.place, lines)
    at = name if line is None else f"{name}, line {line}"
    return replace(fault, detail=f"{at}{_part(fault.place, line is not None)}: {fault.detail}")


def read_toml(text: str, name: str) -> tuple[Mapping[str, object] | None, Draft]:
    """Read a card from TOML text; where a part of it is not TOML, the others are read all the same.

    Tells what stands in it, None where the text is not TOML throughout, and the card as far as it can be
    made; its faults carry the file's name and their line.
    """
    if _LONG_KEY.search(text):
        fault = Fault("toml", (), f"{name}: a key of more than eight parts")
        return None, Draft("", (), (fault,))
    broken: dict[tuple[str | int, ...], str] = {}
    try:
        written = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: also a number of thousands of digits
        written, broken = _part_by_part(text)
        broken = broken or {(): str(error) or "nested too deeply"}
    # Hands may be a list in one line: only those with a head are known by their lines.
    lines = {place: line for place, line in lines_of(text).items() if len(place) > 1 or place == ("card",)}
    draft = read_draft(written)
    syntax = [Fault("toml", (), f"{name}: {detail}") for detail in broken.values()]
    # Beside what could not be parsed only faults of whole hands are told.
    rest = [
        _on_line(fault, lines, name)
        for fault in draft.faults
        if not broken or (len(fault.place) > 1 and fault.place[0] == "hand" and fault.place not in broken)
    ]
    return None if broken else written, replace(draft, faults=(*syntax, *rest))


def _part_by_part(text: str) -> tuple[dict[str, object], dict[tuple[str | int, ...], str]]:
    """Parse a text head by head: what can be parsed, and what cannot by its place in the card's form."""
    lines = text.split("\n")
    starts = [at for at, line in enumerate(lines) if _PART.match(line)][: MAX_HANDS + 2]
    hands: list[object] = []
    written: dict[str, object] = {"hand": hands}
    broken: dict[tuple[str | int, ...], str] = {}
    for start, end in pairwise([0, *starts, len(lines)]):
        is_hand = lines[start].lstrip().startswith("[[")
        try:
            part = tomllib.loads("\n".join(lines[start:end]) + "\n")
        except (ValueError, RecursionError) as error:
            detail = _AT_LINE.sub(lambda at: f"at line {int(at[1]) + start}", str(error))  # noqa: B023
            broken[("hand", len(hands)) if is_hand else ("card",)] = detail or "nested too deeply"
            part = {"hand": [None]} if is_hand else {}
        found = part.pop("hand", [])
        hands += found if isinstance(found, list) else [found]
        written.update(part)
    return written, broken


def card_from_toml(text: str, name: str) -> Card:
    """Read and expand a card from TOML text; a FaultyInputError as of `read_toml`."""
    return read_toml(text, name)[1].card()


def toml_of(written: Mapping[str, object]) -> str:
    """Return what stands in a card as the text of a TOML file; a member that is None is left out."""
    return "\n".join(_tables(written, "")).strip() + "\n"


def _tables(written: Mapping[str, object], path: str) -> Iterator[str]:
    inner = []
    for key, value in written.items():
        here = path + (key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _quoted(key))
        if isinstance(value, Mapping):
            inner += ["", f"[{here}]", *_tables(value, f"{here}.")]
        elif isinstance(value, list) and value and all(isinstance(each, Mapping) for each in value):
            for each in value:
                inner += ["", f"[[{here}]]", *_tables(each, f"{here}.")]
        elif value is not None:
            yield f"{here.removeprefix(path)} = {_value(value)}"
    yield from inner


def _value(value: object) -> str:
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_quoted(key)} = {_value(each)}" for key, each in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(_value, value)) + "]"
    return str(value)


def _quoted(text: str) -> str:
    plain = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + re.sub(r"[\x00-\x1f\x7f]", lambda found: f"\\u{ord(found[0]):04x}", plain) + '"'


def card_name_in(file: str) -> str | None:
    """Return what the card in a file of a folder is called, or None for a file that has none."""
    name = file.removesuffix(CARD_ENDING)
    return None if name == file or file.endswith(FIT_ENDING) else name


def shipped_names() -> tuple[str, ...]:
    """Return the names of the practice cards that come with threepass, in alphabetical order."""
    folder = resources.files("patterns").joinpath("cards")
    return tuple(sorted(filter(None, (card_name_in(item.name) for item in folder.iterdir()))))


def shipped_card(name: str) -> Card:
    """Return one of the practice cards; KeyError where none of that name ships."""
    if name not in shipped_names():
        raise KeyError(name)
    text = resources.files("patterns").joinpath("cards", f"{name}.toml").read_text(encoding="utf-8")
    return card_from_toml(text, f"{name}.toml")
