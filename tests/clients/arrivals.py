"""What a page says of the tiles to come."""

import re
from typing import Any

import pytest


def check_coming(words: str, arrivals: dict[str, Any]) -> None:
    """Check the words for draws and claims against an answer's arrivals.

    Args:
        words: As the page has them, on one line.
        arrivals: As the answer has them.
    """
    lengths = arrivals["lengths"]
    if len(lengths) == 1:
        (only,) = lengths
        found = re.fullmatch(r"(\d+) tiles? from the wall, (\d+) discards? to claim from", words)
        assert found is not None, words
        assert (int(found[1]), int(found[2])) == (only["draws"], only["claims"])
        return
    found = re.fullmatch(
        r"on average ([\d.]+) tiles from the wall and ([\d.]+) discards to claim from "
        r"\((\d+) lengths of play\)",
        words,
    )
    assert found is not None, words
    assert float(found[1]) == pytest.approx(arrivals["draws"], abs=0.051)
    assert float(found[2]) == pytest.approx(arrivals["claims"], abs=0.051)
    assert int(found[3]) == len(lengths)
