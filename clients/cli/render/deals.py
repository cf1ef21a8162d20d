"""Deals, a line each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clients.cli.render.layout import labelled

# Fourteen tiles with spaces between and quotation marks around, a few of them named by a word.
_RACK = 50


def deal_text(deal: Mapping[str, Any]) -> str:
    """Return the line for a deal, and below it what else was asked for.

    Raises:
        KeyError, TypeError, ValueError, AttributeError: the deal does not have the API's shape.
    """
    rack = f'"{" ".join(deal["rack"])}"'
    facts = f"{deal['index']:>4}  {deal['call'] or '-':<9}  {deal['family'] or '-'}"
    lines = [f"{rack:<{_RACK}}{facts}"]
    if deal["pass"] is not None:
        lines += labelled("pass", " ".join(deal["pass"]), 4, 6)
    if deal["heap"] is not None:
        lines += labelled("heap", " ".join(deal["heap"]), 4, 6)
    return "\n".join(lines)
