"""One lap in the terminal: the rack is shown, passes are typed and held against the rules, tiles come in."""

from __future__ import annotations

import re
import signal
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import click

from api.service import (
    BLIND_ALLOWED,
    PASS_SIZE,
    ROUNDS,
    in_order,
    pass_faults,
    read_tiles,
    round_words,
    tile_words,
)
from api.service import clock as clock_words
from clients.cli.output import clean, in_groups, say

COURTESY = "courtesy"
_WHOLE = ROUNDS.index(COURTESY)
# The longest time the service takes for a pass; over a day nobody was choosing tiles.
_LONGEST = 86_400.0
# A terminal that goes away, and a request to end, count as Ctrl-C: otherwise either would end the process
# on the spot, and with it the lap under way. Not every system has all of them.
_SIGNALS = [getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]
_ROW, _WIDE = 7, 6


def rounds_of(count: int, courtesy: bool) -> tuple[str, ...]:
    """Return the rounds of a drill of 1 to 12 exchanges; those after the sixth begin the order again."""
    rounds = tuple(ROUNDS[index % _WHOLE] for index in range(count))
    return (*rounds, COURTESY) if courtesy else rounds


@contextmanager
def interruptible() -> Iterator[None]:
    """Take a terminal that is closed, and a request to end, for Ctrl-C; only the first of all counts."""
    # One that is ignored stays so: that is what nohup asks for.
    before = {number: was for number in _SIGNALS if (was := signal.getsignal(number)) != signal.SIG_IGN}

    def interrupt(*_: object) -> None:
        _heed_no_more()
        raise KeyboardInterrupt

    for number in before:
        signal.signal(number, interrupt)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _heed_no_more() -> None:
    for number in _SIGNALS:
        signal.signal(number, signal.SIG_IGN)


def ask(prompt: str) -> str:
    """Return the line typed after a prompt (ASCII); EOFError if the input or the terminal is gone."""
    # Not by input(): in a terminal that writes its prompt to stderr.
    print(clean(prompt), end="", flush=True)
    try:
        line = sys.stdin.readline()
    except OSError:
        line = ""
    if not line:
        # A terminal that goes away says so twice: the signal must not come between the lap and its log.
        _heed_no_more()
        raise EOFError
    return line


def drawn(tokens: Sequence[str]) -> list[str]:
    """Return lines that show tiles in rows of seven, two words on each."""
    lines = []
    for start in range(0, len(tokens), _ROW):
        faces = [_face(token) for token in tokens[start : start + _ROW]]
        lines += [
            " ".join(f"╭{'─' * _WIDE}╮" for _ in faces),
            *(" ".join(f"│{face[row]:^{_WIDE}}│" for face in faces) for row in (0, 1)),
            " ".join(f"╰{'─' * _WIDE}╯" for _ in faces),
        ]
    return [line.rstrip() for line in lines]


def _face(token: str) -> tuple[str, str]:
    upper, _, lower = tile_words(token).partition(" ")
    return (upper, lower) if lower else (token, upper)


class Stopwatch:
    """The clock of a lap: counts the seconds that a clock, which never goes back, makes while it runs."""

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._since = clock()
        self._held: float | None = None

    def hold(self) -> None:
        """Stop until it is told to run; what it has counted stays."""
        self._held = self.read()

    def run(self) -> None:
        """Run on after it was held."""
        self._since, self._held = self._clock() - self.read(), None

    def read(self) -> float:
        """Return the seconds counted since the last pass was taken, to a thousandth."""
        return round(self._clock() - self._since, 3) if self._held is None else self._held

    def take(self) -> float:
        """Return the seconds of this pass and begin the next at zero."""
        seconds, self._since = self.read(), self._clock()
        return seconds


@dataclass(frozen=True)
class Pass:
    """A pass that the rules allow: own tiles in the fixed order of kinds, and how many go on blind."""

    given: tuple[str, ...]
    blind: int = 0


# What may be typed in place of a pass.
HELP_WISH, PAUSE, STOP = ("?", "h", "help"), ("p", "pause"), ("q", "quit", "stop")
COURTESY_WISH = ("c", COURTESY)
# No short form such as "b1": it is too close to 1 bam.
_BLIND = re.compile(
    r"(?:\+\s*(?P<plus>[0-9]{1,3})(?:\s*blind)?"
    r"|(?:^|(?<=[\s,;]))(?:(?P<before>[0-9]{1,3})\s*blind|blind\s*(?P<after>[0-9]{1,3})))\s*\Z",
    re.ASCII | re.IGNORECASE,
)
_NOTHING = ("0", "none", "nothing")

HELP = f"""\
Type the tiles to pass in any order: 4b 4c E, or 4 bam, 4 crak, east wind.
Digits with b, c or d are bams, craks and dots; N E W S winds; green, red, white
dragons; F a flower. A joker may never be passed.
Where blind passing is allowed, a number after the tiles says how many incoming
tiles go on unseen in place of your own: "4b E +1". Together they make {PASS_SIZE}.
A courtesy pass is of 0 to {PASS_SIZE} tiles; "0" passes none.
p pauses and hides the rack, q stops."""


def is_wish(line: str, wish: Sequence[str]) -> bool:
    """Return whether a line is one of the words for a wish."""
    return line.strip().lower() in wish


def pass_of(line: str, rack: Sequence[str], round_: str) -> tuple[Pass | None, list[str]]:
    """Return the pass that a line such as ``4b E +1`` says, or every fault by the rules and what is held."""
    blind, rest = 0, line
    if said := _BLIND.search(line):
        blind, rest = int(said["plus"] or said["before"] or said["after"]), line[: said.start()]
    if round_ == COURTESY and rest.strip().lower() in _NOTHING:
        rest = ""
    elif round_ == COURTESY and not line.strip():
        return None, ['type the tiles to give, or "0" for none']
    tokens, unreadable = read_tiles(rest) if rest.strip() else ([], [])
    if unreadable:
        return None, unreadable
    faults = pass_faults(round_, tokens, blind, rack)
    return (None, faults) if faults else (Pass(tuple(in_order(tokens)), blind), [])


# How a table of careful players stands after some exchanges, as the service tells it.
Table = Callable[[Sequence[Mapping[str, Any]]], Mapping[str, Any]]


@dataclass
class Lap:
    """A lap under way, or a single pass. Every tile is on the rack, in the heap, or has left the game.

    Each exchange takes the next three tiles off the heap, whatever was given, so that what comes later does
    not depend on earlier choices. Only as many of them as were given come in; the others go on unseen. After
    a single pass nothing comes in. At a table what comes in and what may come next is the table's to say.

    A single pass has `seen`, own tiles passed before, and, out of a drill, `left`, the exchanges left in it.
    Card and exchanges are as the service takes them; `most` tiles may go in a courtesy pass, and `may_stop`
    says whether the second Charleston may be stopped now.
    """

    seed: int
    index: int
    dealt: tuple[str, ...]
    heap: tuple[str, ...]
    rounds: tuple[str, ...]
    card: str | dict[str, Any]
    card_name: str
    timed: bool = True
    seen: tuple[str, ...] | None = None
    left: int | None = None
    table: Table | None = None
    exchanges: list[dict[str, Any]] = field(default_factory=list)
    most: int = PASS_SIZE
    may_stop: bool = False

    def __post_init__(self) -> None:
        self.rack = in_order(self.dealt)
        if self.table is not None:
            self._stand(self.table, [])

    def _stand(self, table: Table, exchanges: Sequence[Mapping[str, Any]]) -> None:
        self.stands = table(exchanges)
        self.rounds = (*(each["round"] for each in exchanges), *self.stands["rounds"][:1])
        self.most = self.stands["most"]
        self.may_stop = len(self.stands["rounds"]) > 1

    @property
    def finished(self) -> bool:
        """Whether all rounds are played."""
        return len(self.exchanges) == len(self.rounds)

    @property
    def round(self) -> str:
        """The round to play next; only while the lap is not finished."""
        return self.rounds[len(self.exchanges)]

    @property
    def record(self) -> dict[str, Any]:
        """The lap as ``POST /v1/reviews`` takes it."""
        drill = self.table is None if self.seen is None else self.left is not None
        record = {
            "card": self.card,
            "rack": in_order(self.dealt),
            "exchanges": self.exchanges,
            "drill": drill,
        }
        if self.seen is None:
            return record
        return {**record, "seen": list(self.seen), "follow": 0 if self.left is None else self.left - 1}

    def stop(self) -> None:
        """Stop the second Charleston."""
        self.rounds, self.may_stop = (*self.rounds[:-1], COURTESY), False

    def exchange(self, made: Pass, seconds: float) -> Sequence[str]:
        """Make a pass that the rules allow and return the tiles that came in; over a day is not timed."""
        exchange: dict[str, Any] = {"round": self.round, "given": list(made.given), "blind": made.blind}
        start = PASS_SIZE * len(self.exchanges)
        received: Sequence[str] = self.heap[start : start + len(made.given)]
        if self.table is not None:
            before = [{name: each[name] for name in exchange} for each in self.exchanges]
            self._stand(self.table, [*before, exchange])
            received = self.stands["received"][-1]
        rack = [*self.rack, *received]
        for token in made.given:
            rack.remove(token)
        self.rack = in_order(rack)
        came = None if self.seen is not None else list(received)
        timed = seconds if self.timed and seconds <= _LONGEST else None
        self.exchanges.append({**exchange, "received": came, "seconds": timed})
        return received


def play(lap: Lap, clock: Callable[[], float]) -> None:
    """Play until the lap is finished or the person stops it; a watch runs from when the rack is shown."""
    watch = Stopwatch(clock)
    while not lap.finished:
        _show(lap)
        made = _pass(lap, watch)
        if made is None:
            return
        seconds = watch.take()
        received = lap.exchange(made, seconds)
        went_on = f" and {made.blind} blind" if made.blind else ""
        after = f" after {clock_words(seconds)}" if lap.timed else ""
        came = f"  Came in: {in_groups(received)}" if lap.seen is None else ""
        say(f"  Passed {in_groups(made.given)}{went_on}{after}.{came}")


def _show(lap: Lap) -> None:
    number = len(lap.exchanges)
    extra = " (extra exchange)" if number >= _WHOLE and lap.round != COURTESY else ""
    says = f"Round {number + 1} of {len(lap.rounds)}{extra}: {round_words(lap.round).lower()}"
    heap = "; the heap gives as many as you do"
    if lap.table is not None:
        says, heap = f"Round {number + 1}: {round_words(lap.round).lower()}", ""
        if told := lap.stands["words"]["table"]:
            say(f"\n{told}")
    elif lap.seen is not None:
        says, heap = round_words(lap.round), ""
    if lap.round == COURTESY:
        says += f" (0 to {lap.most} tiles{heap})"
    if lap.may_stop:
        says += ' ("c" stops the second Charleston: only the courtesy pass is left)'
    if lap.round in BLIND_ALLOWED:
        says += " (blind allowed: +1, +2 or +3)"
    say("\n".join(["", says, *drawn(lap.rack), "  " + in_groups(lap.rack)]))


def _pass(lap: Lap, watch: Stopwatch) -> Pass | None:
    """Ask until a pass is right; None when the person stops."""
    while True:
        line = ask(f"{round_words(lap.round).lower()}> ")
        if is_wish(line, STOP):
            return None
        if is_wish(line, HELP_WISH):
            say(f"{HELP} The clock runs as you read this." if lap.timed else HELP)
        elif is_wish(line, PAUSE):
            if not _pause(lap, watch):
                return None
            _show(lap)
        elif lap.may_stop and is_wish(line, COURTESY_WISH):
            lap.stop()
            _show(lap)
        else:
            made, faults = pass_of(line, lap.rack, lap.round)
            if made is not None and lap.round == COURTESY and len(made.given) > lap.most:
                made, faults = None, [f"the player across wishes for no more than {lap.most}"]
            if made is not None:
                return made
            runs = "; the clock runs" if lap.timed else ""
            say("\n".join([*(f"  {fault}" for fault in faults), f"  Again, please{runs}."]))


def _pause(lap: Lap, watch: Stopwatch) -> bool:
    """Wait with the clock held and the rack hidden; return whether to go on."""
    watch.hold()
    click.clear()
    stopped = "Paused."
    if lap.timed:
        stopped = f"Paused at {clock_words(watch.read())} of this pass: the clock is stopped."
    if is_wish(ask(f'{stopped} Enter goes on, "q" stops: '), STOP):
        return False
    watch.run()
    return True
