"""The person at the terminal: what is shown, asked, and hidden again."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Sequence

import click

from clients.cli.output import clean, say
from clients.cli.practice.drawing import can_box, drawn
from clients.cli.practice.interrupts import Interrupts
from clients.cli.render.words import tokens_in_groups

_A_SCREEN = 60


class Console:
    """Speaks on stdout and reads stdin line by line.

    Args:
        interrupts: Heeded while a line is waited for.
    """

    def __init__(self, interrupts: Interrupts) -> None:
        self._interrupts = interrupts
        self._box = can_box(sys.stdout.encoding)
        if isinstance(sys.stdin, io.TextIOWrapper):
            # A byte that is no text is a typing fault to be named, not the end of the lap.
            sys.stdin.reconfigure(errors="replace")

    def say(self, text: str = "") -> None:
        """Print lines."""
        say(text)

    def ask(self, prompt: str) -> str:
        """Return the line typed after a prompt (ASCII).

        Raises:
            EOFError: the input is at its end, or the terminal is gone.
            KeyboardInterrupt: Ctrl-C.
        """
        # Not by input(): in a terminal that writes its prompt to stderr.
        print(clean(prompt), end="", flush=True)
        with self._interrupts.open():
            try:
                self._interrupts.until_readable(sys.stdin)
                line = sys.stdin.readline()
            except OSError:
                line = ""
        if not line:
            raise EOFError
        return line

    def show_tiles(self, tokens: Sequence[str]) -> None:
        """Show tiles drawn and, below, as the tokens to type."""
        self.say("\n".join([*drawn(tokens, self._box), "  " + tokens_in_groups(tokens)]))

    def hide(self) -> None:
        """Clear a terminal's screen; what is not a terminal keeps what it was sent."""
        if os.environ.get("TERM") == "dumb" and sys.stdout.isatty():
            self.say("\n" * _A_SCREEN)
        else:
            click.clear()
