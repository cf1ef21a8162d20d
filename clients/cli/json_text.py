"""Reading JSON strictly: what JSON does not have, and numbers that no float can hold, are refused."""

from __future__ import annotations

import json
import math
from typing import Any, NoReturn


def decoded(content: bytes) -> Any:
    """Return the value that JSON text stands for.

    Raises:
        ValueError: not JSON, nested too deep, or with a number that no float can hold.
    """
    try:
        return json.loads(content, parse_constant=_no_number, parse_float=_finite)
    except RecursionError as error:
        raise ValueError("nested too deep") from error


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is not JSON")


def _finite(written: str) -> float:
    read = float(written)
    return read if math.isfinite(read) else _no_number(written)
