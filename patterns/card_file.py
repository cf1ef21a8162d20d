"""Cards in TOML files: reading, and placing each fault on its line."""

from __future__ import annotations

import re
import tomllib
from importlib import resources
from pathlib import Path

from patterns.card import Card
from patterns.card_form import CardForm, build_card, read_form
from patterns.faults import Fault, FaultyInputError

MAX_FILE = 1_000_000
_HAND = re.compile(r"^\s*\[\[\s*hand\s*\]\]")
_HEAD = re.compile(r"^\s*\[\s*card\s*\]")
# tomllib takes time and memory with the square of a key's parts, so long ones are refused unread. The
# quantifiers are possessive: no text makes the search itself slow.
_KEY_PART = r"""(?:[A-Za-z0-9_-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+"""
_LONG_KEY = re.compile(rf"(?<![A-Za-z0-9_-])(?:{_KEY_PART}\.[ \t]*+){{8}}")
_KEY = re.compile(r"^\s*\"?([A-Za-z_]+)\"?\s*=")


def _lines(text: str) -> dict[tuple[str | int, ...], int]:
    """Map places of the card form to line numbers (from 1): tomllib itself does not keep them."""
    found: dict[tuple[str | int, ...], int] = {}
    here: tuple[str | int, ...] = ()
    hands = 0
    for number, line in enumerate(text.split("\n"), start=1):
        if _HAND.match(line):
            here = ("hand", hands)
            hands += 1
            found[here] = number
        elif _HEAD.match(line):
            here = ("card",)
            found[here] = number
        elif (key := _KEY.match(line)) and here:
            found.setdefault((*here, key[1]), number)
    return found


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
    place = fault.place
    while place and place not in lines:
        place = place[:-1]
    at = f"{name}, line {lines[place]}" if place else name
    return Fault(fault.kind, fault.place, f"{at}{_part(fault.place, bool(place))}: {fault.detail}")


def form_from_toml(text: str, name: str) -> CardForm:
    """Read the form of a card from TOML text.

    Raises:
        FaultyInputError: all faults of syntax or shape, each with the name given and its line.
    """
    if _LONG_KEY.search(text):
        raise FaultyInputError([Fault("toml", (), f"{name}: a key of more than eight parts")])
    try:
        written = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: also a number of thousands of digits
        detail = str(error) or "nested too deeply"
        raise FaultyInputError([Fault("toml", (), f"{name}: {detail}")]) from None
    try:
        return read_form(written)
    except FaultyInputError as error:
        lines = _lines(text)
        raise FaultyInputError(_on_line(fault, lines, name) for fault in error.faults) from None


def card_from_toml(text: str, name: str) -> Card:
    """Read and expand a card from TOML text; faults carry the name given and their line.

    Raises:
        FaultyInputError: all faults of syntax, or of shape, or of the hands.
    """
    form = form_from_toml(text, name)
    try:
        return build_card(form)
    except FaultyInputError as error:
        lines = _lines(text)
        raise FaultyInputError(_on_line(fault, lines, name) for fault in error.faults) from None


def read_text(path: Path) -> str:
    """Return the text of a card file.

    Raises:
        FaultyInputError: no such file, over 1 MB, or not UTF-8.
    """
    try:
        with path.open("rb") as file:
            content = file.read(MAX_FILE + 1)
        if len(content) > MAX_FILE:
            raise FaultyInputError([Fault("too-long", (), f"{path.name}: over {MAX_FILE} bytes")])
        return content.decode("utf-8-sig")
    except OSError as error:
        raise FaultyInputError([Fault("unreadable", (), f"{path.name}: {error.strerror}")]) from None
    except UnicodeDecodeError as error:
        raise FaultyInputError(
            [Fault("unreadable", (), f"{path.name}: not UTF-8 at byte {error.start}")]
        ) from None


def card_from_file(path: Path) -> Card:
    """Read and expand a card file.

    Raises:
        FaultyInputError: as `read_text` and `card_from_toml`.
    """
    return card_from_toml(read_text(path), path.name)


def shipped_names() -> tuple[str, ...]:
    """Return the names of the practice cards that come with threepass, in alphabetical order."""
    folder = resources.files("patterns").joinpath("cards")
    return tuple(
        sorted(item.name.removesuffix(".toml") for item in folder.iterdir() if item.name.endswith(".toml"))
    )


def shipped_card(name: str) -> Card:
    """Return one of the practice cards.

    Raises:
        KeyError: no card of that name ships.
    """
    if name not in shipped_names():
        raise KeyError(name)
    text = resources.files("patterns").joinpath("cards", f"{name}.toml").read_text(encoding="utf-8")
    return card_from_toml(text, f"{name}.toml")
