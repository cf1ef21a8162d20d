"""The rounds of a drill in the order they are played, and where blind passing is allowed.

Common practice, no source.
"""

from __future__ import annotations

PASS_SIZE = 3
MOST_ROUNDS = 12
_ORDER = ("first_right", "first_across", "first_left", "second_left", "second_across", "second_right")
_BLIND = ("first_left", "second_right")


def rounds_of(count: int) -> tuple[str, ...]:
    """Return the rounds of a drill, 1 to 12; after the sixth they begin again."""
    return tuple(_ORDER[index % len(_ORDER)] for index in range(count))


def allows_blind(round_: str) -> bool:
    """Return whether incoming tiles may go on unseen."""
    return round_ in _BLIND


def in_words(round_: str) -> str:
    """Return a round's name for people: ``first right``."""
    return round_.replace("_", " ")
