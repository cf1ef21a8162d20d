"""Playing a lap: show the rack, take a pass, bring in tiles, and again."""

from __future__ import annotations

from clients.cli.practice.console import Console
from clients.cli.practice.lap import Lap
from clients.cli.practice.rounds import allows_blind, in_words
from clients.cli.practice.typed import HELP, Pass, Wish, pass_of, wish_of
from clients.cli.practice.watch import Stopwatch
from clients.cli.render.words import tokens_in_groups
from clients.cli.times import clock


def play(lap: Lap, console: Console, watch: Stopwatch) -> None:
    """Play until the lap is finished or the person stops it.

    Args:
        lap: A lap of which nothing is played.
        console: Where it is played.
        watch: At rest; it runs from the moment the rack is shown.

    Raises:
        EOFError: the input is at its end.
        KeyboardInterrupt: Ctrl-C.
    """
    watch.run()
    while not lap.finished:
        _show(lap, console)
        made = _pass(lap, console, watch)
        if made is None:
            return
        seconds = watch.take()
        received = lap.exchange(made, seconds)
        went_on = f" and {made.blind} blind" if made.blind else ""
        console.say(
            f"  Passed {tokens_in_groups(made.given)}{went_on} after {clock(seconds)}.  "
            f"Came in: {tokens_in_groups(received)}"
        )


def _show(lap: Lap, console: Console) -> None:
    says = f"Round {len(lap.exchanges) + 1} of {lap.rounds}: {in_words(lap.round)}"
    if allows_blind(lap.round):
        says += " (blind allowed: +1, +2 or +3 after your tiles)"
    console.say(f"\n{says}")
    console.show_tiles(lap.rack)


def _pass(lap: Lap, console: Console, watch: Stopwatch) -> Pass | None:
    """Ask until a pass is right; None when the person stops."""
    while True:
        line = console.ask(f"{in_words(lap.round)}> ")
        wish = wish_of(line)
        if wish is Wish.STOP:
            return None
        if wish is Wish.HELP:
            console.say(HELP)
        elif wish is Wish.PAUSE:
            if not _pause(console, watch):
                return None
            _show(lap, console)
        else:
            made, faults = pass_of(line, lap.rack, lap.round)
            if made is not None:
                return made
            console.say("\n".join([*(f"  {fault}" for fault in faults), "  Again, please; the clock runs."]))


def _pause(console: Console, watch: Stopwatch) -> bool:
    """Wait with the clock held and the rack hidden; return whether to go on."""
    watch.hold()
    console.hide()
    prompt = f'Paused at {clock(watch.read())} of this pass; the rack is hidden. Enter goes on, "q" stops: '
    if wish_of(console.ask(prompt)) is Wish.STOP:
        return False
    watch.run()
    return True
