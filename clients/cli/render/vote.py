"""The vote on the second Charleston, on a page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clients.cli.render.assumed import assumed
from clients.cli.render.layout import labelled
from clients.cli.render.words import counted, fine, hands

_VERDICTS = {
    "stop": "stop after the first Charleston",
    "go on": "go on to the second Charleston",
    "too close to call": "too close to call: the samples do not tell",
}


def vote_text(answer: Mapping[str, Any]) -> str:
    """Return the page for an answer of ``POST /v1/votes``.

    Raises:
        KeyError, TypeError, ValueError, AttributeError: the answer does not have that shape.
    """
    difference, error = answer["difference"], fine(answer["error"])
    more = f"{fine(abs(difference))} more by {'going on' if difference > 0 else 'stopping'}"
    samples = counted(answer["samples"], "sample")
    lines = [
        *labelled("Vote", _VERDICTS.get(answer["verdict"], answer["verdict"])),
        *labelled("Stop", f"{hands(answer['stop'])} expected hands when the passes are over"),
        *labelled("Go on", f"{hands(answer['go_on'])} expected hands"),
        *labelled("Difference", f"{more if difference else 'none'}, standard error {error}"),
        *labelled(
            "Samples",
            f"{samples}; both ways meet the same incoming tiles, drawn as readily as others pass them",
        ),
    ]
    return "\n".join([*lines, "", *assumed(answer["assumptions"], by_exchanges=False)])
