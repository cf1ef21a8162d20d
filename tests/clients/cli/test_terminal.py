"""One lap in a real terminal, by a process of its own."""

import os
import pty
import re
import select
import signal
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.clients.typist import logged

_PATIENCE = 120.0


class Terminal:
    """A pseudo-terminal with the command in it."""

    def __init__(self, command: list[str], term: str = "xterm") -> None:
        self._ours, theirs = pty.openpty()
        self.process = subprocess.Popen(
            command,
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            start_new_session=True,
            env={**os.environ, "TERM": term, "PYTHONIOENCODING": "utf-8"},
        )
        os.close(theirs)
        self.seen = ""

    def until(self, pattern: str) -> str:
        """Read what is shown until a pattern is there; return what came since the last call."""
        shown = b""
        while not (found := re.search(pattern, shown.decode("utf-8", "replace"))):
            ready, _, _ = select.select([self._ours], [], [], _PATIENCE)
            assert ready, f"waited for {pattern!r}, saw {shown!r}"
            try:
                shown += os.read(self._ours, 4096)
            except OSError:  # the other side is closed
                pytest.fail(f"ended before {pattern!r}: {shown!r}")
        self.seen += shown.decode("utf-8", "replace")
        return found[0]

    def type(self, text: str) -> None:
        os.write(self._ours, text.encode())

    def close(self) -> None:
        os.close(self._ours)


@pytest.fixture
def terminal(command: str, log: Path) -> Iterator[Terminal]:
    options = ["--card", "small", "--seed", "11", "--rounds", "2", "--log", str(log)]
    opened = Terminal([command, "practice", *options])
    yield opened
    if opened.process.poll() is None:
        opened.process.kill()
    opened.process.wait(timeout=60)


def test_a_lap_in_a_terminal(terminal: Terminal, log: Path) -> None:
    terminal.until(r"Ready\? Enter starts the clock, \"q\" ends: ")
    assert "first right" not in terminal.seen
    terminal.type("\n")
    terminal.until("first right> ")
    assert "╭──────╮" in terminal.seen
    tokens = terminal.seen.split("first right> ")[0].splitlines()[-1].split()
    assert len(tokens) == 14
    terminal.type("p\n")
    terminal.until('Enter goes on, "q" stops: ')
    assert "\x1b[2J" in terminal.seen, "the screen is cleared, so that the rack is not seen in a pause"
    assert terminal.seen.index("\x1b[2J") > terminal.seen.rindex("╰")
    terminal.type("\n")
    terminal.until("first right> ")
    for name in ("right", "across"):
        terminal.type(" ".join([token for token in tokens if token != "J"][:3]) + "\n")
        terminal.until("first across> " if name == "right" else "Grading")
        tokens = terminal.seen.splitlines()[-2].split()
    terminal.until(r"Hindsight \(not graded\)")
    assert terminal.process.wait(timeout=60) == 0
    (entry,) = logged(log)
    assert entry["finished"] is True
    assert all(0 <= exchange["seconds"] < _PATIENCE for exchange in entry["record"]["exchanges"])


@pytest.mark.parametrize("closed", [False, True])
def test_ctrl_c_in_a_terminal_and_one_that_is_closed(terminal: Terminal, log: Path, closed: bool) -> None:
    terminal.until("ends: ")
    terminal.type("\n")
    terminal.until("first right> ")
    terminal.process.send_signal(signal.SIGHUP if closed else signal.SIGINT)
    if closed:
        terminal.close()
    else:
        terminal.until("interrupted")
    code = terminal.process.wait(timeout=60)
    assert code != 0 if closed else code == 130
    assert "Traceback" not in terminal.seen
    assert [entry["finished"] for entry in logged(log)] == [False]
