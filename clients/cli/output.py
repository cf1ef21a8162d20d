"""Writing to the two streams: answers on stdout, everything else on stderr."""

from __future__ import annotations

import re
import sys
from typing import TextIO

# Names on a card come from its author and answers may come from any server: nothing that a terminal
# would obey (controls, and marks that reorder text) is passed on to it.
_OBEYED = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]")


def clean(text: str) -> str:
    """Return text without characters that a terminal would obey; line ends stay."""
    return _OBEYED.sub("?", text)


def say(text: str) -> None:
    """Print text for people on stdout."""
    _print(text, sys.stdout)


def complain(text: str) -> None:
    """Print text for people on stderr."""
    _print(text, sys.stderr)


def write_bytes(content: bytes) -> None:
    """Write bytes for programs on stdout, at once."""
    sys.stdout.buffer.write(content)
    sys.stdout.buffer.flush()


def write_body(content: bytes) -> None:
    """Write one body exactly as the service sent it; only a terminal gets a line end after it."""
    write_bytes(content + b"\n" if sys.stdout.isatty() else content)


def _print(text: str, stream: TextIO) -> None:
    encoding = stream.encoding or "utf-8"
    shown = clean(text).encode(encoding, "backslashreplace").decode(encoding)
    print(shown, file=stream, flush=True)
