"""What an answer rests on, on a page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clients.cli.render.layout import paragraph
from clients.cli.render.words import counted

Answer = Mapping[str, Any]


def assumed(says: Answer, by_exchanges: bool = True) -> list[str]:
    """Return the assumptions of an answer.

    Args:
        says: The assumptions as the API gives them.
        by_exchanges: Whether tiles to come by exchanges are among what was assumed.

    Raises:
        KeyError, TypeError, ValueError, AttributeError: they do not have that shape.
    """
    arrivals, card, unseen = says["arrivals"], says["card"], says["unseen"]
    return [
        "Assumed",
        *paragraph(f"To come: {_all_coming(arrivals) if by_exchanges else coming(arrivals)}."),
        *_alone(says["arrivals_alone"]),
        *paragraph(
            f"Unseen: {counted(unseen['naturals'] + unseen['jokers'], 'tile')}, "
            f"{counted(unseen['jokers'], 'joker')} among them, each as likely to come as any other."
        ),
        *paragraph(
            f"Card: {_card(card)}, {counted(card['hands'], 'hand')}, {counted(card['targets'], 'target')}."
        ),
        *paragraph(f"Limits: {'; '.join(says['limits']) or 'none'}."),
        *paragraph(", ".join(f"{name} {version}" for name, version in says["versions"].items()) + "."),
    ]


def _alone(arrivals: Answer | None) -> list[str]:
    if arrivals is None:
        return []
    return paragraph(f"To come to a player of one hand alone: {_all_coming(arrivals)}.")


def _all_coming(arrivals: Answer) -> str:
    return f"exchanges worth {counted(arrivals['charleston'], 'tile')}; {coming(arrivals)}"


def coming(arrivals: Answer) -> str:
    """Return in words what is to come from the wall and from others.

    Args:
        arrivals: As the API gives them.
    """
    lengths = arrivals["lengths"]
    if len(lengths) == 1:
        draws, claims = lengths[0]["draws"], lengths[0]["claims"]
        return f"{counted(draws, 'tile')} from the wall, {counted(claims, 'discard')} to claim from"
    return (
        f"on average {arrivals['draws']:.1f} tiles from the wall and {arrivals['claims']:.1f} discards to "
        f"claim from ({len(lengths)} lengths of play)"
    )


def _card(card: Answer) -> str:
    return card["title"] if card["title"] == card["name"] else f"{card['title']} ({card['name']})"
