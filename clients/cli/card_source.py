"""Where a card comes from: the name of one the service has, or a file of one's own."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from clients.cli.exits import UsageFault

MAX_FILE = 1_000_000


def card_of(written: str) -> str | dict[str, Any]:
    """Return a card as the API takes it: a file's text for a path, else the name as it is.

    A path is what ends with ``.toml`` or is the path of a file that exists.

    Raises:
        UsageFault: a path whose file cannot be used.
    """
    return card_from(written) if written.endswith(".toml") or _is_file(written) else written


def card_from(path: str) -> dict[str, Any]:
    """Return the text of a card file with its base name, for the service to read.

    Raises:
        UsageFault: no such file, over 1 MB, or not UTF-8.
    """
    name = Path(path).name
    try:
        with Path(path).open("rb") as file:
            content = file.read(MAX_FILE + 1)
    except (OSError, ValueError) as error:
        raise UsageFault([f"{path}: {getattr(error, 'strerror', None) or error}"]) from None
    if len(content) > MAX_FILE:
        raise UsageFault([f"{path}: over {MAX_FILE:,} bytes"])
    try:
        return {"toml": content.decode("utf-8"), "file": name}
    except UnicodeDecodeError as error:
        raise UsageFault([f"{path}: not UTF-8 at byte {error.start}"]) from None


def _is_file(written: str) -> bool:
    try:
        return Path(written).is_file()
    except (OSError, ValueError):  # a name too long for a path, or with a NUL in it
        return False
