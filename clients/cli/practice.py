"""``threepass practice``: timed drills and single passes, each logged before anything is said of it."""

from __future__ import annotations

import io
import secrets
import shlex
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from functools import partial
from itertools import count
from pathlib import Path
from time import monotonic
from typing import Any

import click

from api.service import MAX_EXCHANGES as MOST_ROUNDS
from api.service import ROUNDS, Figures, counted, round_words, session_of
from clients.cli import options as shared
from clients.cli.log import LOG_MARK, LOG_VERSION, default_log, now, read_log, told_of
from clients.cli.output import Exit, Failure, append, complain, said_by, say
from clients.cli.play import COURTESY, STOP, Lap, ask, interruptible, is_wish, play, rounds_of
from clients.cli.review import PATH, lap_text, pass_text, session_text
from clients.cli.service import Service, encoded

_SEEDS = 1_000_000
_MOST_SEED = 2**63 - 1


@click.command(short_help="A timed drill or single passes, graded and logged.")
@shared.whole(
    "--rounds",
    "Exchanges of each lap, 1 to 12, in the order they are played: 3 are the first Charleston, 6 both; those "
    "after the sixth are extra exchanges.",
    1,
    MOST_ROUNDS,
    default=3,
)
@click.option(
    "--table",
    is_flag=True,
    help="In place of a heap, three careful players who pass from racks of their own, may stop the second "
    "Charleston, and wish for a courtesy pass.",
)
@click.option("--courtesy", is_flag=True, help="End each lap with a courtesy pass of 0 to 3 tiles.")
@click.option("--single", is_flag=True, help="No laps but single passes: one rack, one round, the verdict.")
@click.option(
    "--round",
    "round_",
    type=shared.round_name,
    metavar="NAME",
    help="Round of the single passes, of racks as they are dealt; without it rounds take turns.",
)
@click.option("--again", is_flag=True, help="Single passes of yours that lost much, as each is due again.")
@shared.more_than
@shared.whole("--laps", "How many laps (1 if you do not say) or single passes (as many as you like).", 1)
@shared.whole("--seed", shared.same_deals, 0, _MOST_SEED)
@shared.whole("--start", "First deal of the seed to try.", 0, _MOST_SEED, default=0)
@click.option(
    "--card",
    default="full",
    show_default=True,
    metavar="NAME_OR_FILE",
    help="A card the service has, or a TOML file of your own.",
)
@click.option(
    "--difficulty",
    type=click.Choice(["any", "clear", "close"]),
    default="any",
    show_default=True,
    help="Of the first pass: whether one stands out or several are close.",
)
@click.option("--family", metavar="NAME", help="Family of the likeliest hand after the best first pass.")
@click.option("--no-clock", is_flag=True, help="Take no time.")
@click.option("--log", metavar="FILE", help="Append the laps here, not to the log in your data folder.")
@click.option("--no-log", is_flag=True, help="Keep no log.")
@shared.server
def practice(service: Service, **options: Any) -> int:
    """Practice the Charleston, against the clock or without.

    Each lap deals fourteen tiles and a heap without jokers in place of the other players (--table: three
    careful players, both Charlestons unless somebody stops the second, and the courtesy pass). Only the time
    from seeing the rack to the last pass counts. Then every pass is graded, and the lap is appended to a
    log of JSON lines that is yours: see `threepass progress`. --single gives one rack and one round at a
    time, and the verdict at once. --again deals what you lost most on when it is due: the better you pass it,
    the later it comes back.

    Exit codes: 0 played, 1 refused, 2 wrong usage, 3 no server reached, 5 a lap could not be logged (its
    line is on stderr), 130 interrupted (the lap under way is logged as not finished).
    """
    if options["log"] is not None and options["no_log"]:
        raise click.UsageError("--log and --no-log exclude each other")
    if options["rounds"] + options["courtesy"] > MOST_ROUNDS:
        raise click.UsageError(f"with --courtesy there may be {MOST_ROUNDS - 1} rounds before it")
    if options["single"] + options["again"] + options["courtesy"] + options["table"] > 1:
        raise click.UsageError("--single, --again, --courtesy and --table exclude each other")
    if options["round_"] and not options["single"]:
        raise click.UsageError("--round is for --single")
    with interruptible():
        return Session(service, options).run()


class Session:
    """Plays laps or single passes, by the options of the command."""

    def __init__(self, service: Service, asked: Mapping[str, Any]) -> None:
        self._service, self._options = service, asked
        self._card = shared.card_of(asked["card"])
        named, seed = asked["log"], asked["seed"]
        self._log = None if asked["no_log"] else default_log() if named is None else Path(named)
        self._seed: int = secrets.randbelow(_SEEDS) if seed is None else seed
        self._single: bool = asked["single"] or asked["again"]
        self._most: int | None = asked["laps"] or (None if self._single else 1)
        if isinstance(sys.stdin, io.TextIOWrapper):
            # A byte that is no text is a typing fault to be named, not the end of the lap.
            sys.stdin.reconfigure(errors="replace")
        self._graded: list[Figures] = []
        self._code, self._unlogged = Exit.ANSWERED, False

    def run(self) -> int:
        """Play as many as were asked for, or until the person stops; return the exit code.

        A lap that could not be logged outweighs what else went wrong: its line must be kept by hand.
        """
        laps = self._again() if self._options["again"] else self._deals()
        numbers = count(1) if self._most is None else range(1, self._most + 1)
        try:
            for number, lap in zip(numbers, laps, strict=False):
                if not self._ready(number, lap):
                    break
                self._play(number, lap)
                if self._single and not lap.finished:
                    break
        except Failure as failure:
            self._note(failure)
        except EOFError:
            with suppress(OSError):  # the terminal may be gone, not only its input
                say("")
        except KeyboardInterrupt:
            complain("\ninterrupted")
            self._code = Exit.INTERRUPTED
        return Exit.NOT_WRITTEN if self._unlogged else self._code

    def _deals(self) -> Iterator[Lap]:
        """Yield laps or single passes, deal by deal, as far as there are deals of that kind."""
        asked, start = self._options, self._options["start"]
        named = self._card if isinstance(self._card, str) else str(self._card["file"])
        while True:
            wish: dict[str, Any] = {"seed": self._seed, "start": start, "card": self._card}
            wish |= {name: asked[name] for name in ("difficulty", "family")}
            rounds: tuple[str, ...] = ()
            if self._single:
                rounds = (asked["round_"] or ROUNDS[start % len(ROUNDS)],)
                wish["round"] = rounds[0]
            elif not asked["table"]:
                rounds = rounds_of(asked["rounds"], asked["courtesy"])
                wish |= {"drill": {"exchanges_left": len(rounds)}, "heap": True}
            answer = self._service.ask("/v1/deals", encoded(wish)).answer()
            if not answer["deals"]:
                tried = f"no {asked['difficulty']} deal among {answer['tried']} tried"
                complain(f"{tried}: another seed or start may have one")
                self._code = Exit.REFUSED
                return
            (found,) = answer["deals"]
            start = found["index"] + 1
            yield Lap(
                *(self._seed, found["index"], tuple(found["rack"]), tuple(found["heap"] or ()), rounds),
                *(self._card, named, not asked["no_clock"]),
                seen=() if self._single else None,
                table=partial(self._table, found["index"]) if asked["table"] else None,
            )

    def _table(self, index: int, exchanges: Sequence[Mapping[str, Any]]) -> Mapping[str, Any]:
        asked = {"seed": self._seed, "index": index, "card": self._card, "exchanges": exchanges}
        return self._service.ask("/v1/tables", encoded(asked)).answer()

    def _again(self) -> Iterator[Lap]:
        """Yield the passes that are due, the longest due first."""
        laps, _ = read_log(self._options["log"])
        told, due = told_of(laps, self._options["more_than"], self._service)
        say(told["words"]["again"])
        for lap, each in due:
            deal = lap.entry["seed"], lap.entry["deal"], tuple(each["rack"]), (), (each["round"],)
            card = lap.entry["record"]["card"], lap.card
            yield Lap(*deal, *card, not self._options["no_clock"], tuple(each["seen"]), each["left"])

    def _ready(self, number: int, lap: Lap) -> bool:
        card = f"with the card {lap.card_name}"
        of = "" if self._most is None else f" of {self._most}"
        clock = "starts the clock" if lap.timed else "shows the rack"
        if lap.seen is not None:
            deal = "once more" if self._options["again"] else f"seed {lap.seed}, deal {lap.index}"
            say(f"\nPass {number}{of}: {round_words(lap.round).lower()} {card}, {deal}")
        else:
            courtesy = COURTESY in lap.rounds
            plain = len(lap.rounds) - courtesy
            what = f"{counted(plain, 'round')}{' and a courtesy pass' if courtesy else ''}"
            how = f"--rounds {plain}{' --courtesy' if courtesy else ''}"
            if self._options["table"]:
                what, how = "a table of careful players", "--table"
            say(
                f"\nLap {number}{of}: {what} {card}, seed {lap.seed}, deal {lap.index}\n"
                f"  The same again: --seed {lap.seed} --start {lap.index} {how} "
                f"--card {shlex.quote(self._options['card'])}\n"
                '  Type the tiles, such as 4b 4c E. "?" explains, "p" pauses, "q" stops the lap.'
            )
        return not is_wish(ask(f'Ready? Enter {clock}, "q" ends: '), STOP)

    def _play(self, number: int, lap: Lap) -> None:
        at = now()
        review, cut_off = None, True
        try:
            play(lap, monotonic)
            cut_off = False
            if lap.finished:
                if not self._single:
                    say(f"  {'The clock is stopped. ' if lap.timed else ''}Grading...")
                review = self._grade(lap)
        finally:
            # A single pass that was not made is nothing to keep.
            if lap.exchanges or not self._single:
                self._keep(lap, at, None if review is None else review["kept"])
            if not lap.finished and not self._single:
                made = counted(len(lap.exchanges), "round")
                says = f"stopped after {made}: the lap is not finished and counts in no average"
                complain(f"\n{says}" if cut_off else says)
        if review is not None:
            self._show(number, review)

    def _grade(self, lap: Lap) -> dict[str, Any] | None:
        """Return the lap's review, or None when there was none."""
        try:
            (review,) = self._service.ask(PATH, encoded({"records": [lap.record]})).answer()["reviews"]
            return dict(review)
        except Failure as failure:
            self._note(failure)
            complain(f"the {'pass' if self._single else 'lap'} has no review")
            return None

    def _keep(self, lap: Lap, at: str, result: Mapping[str, Any] | None) -> None:
        """Append the lap to the log; when that fails say so and print its line on stderr."""
        path = self._log
        if path is None:
            return
        line = encoded(
            {
                LOG_MARK: LOG_VERSION,
                "at": at,
                "client": "terminal",
                "card": lap.card_name,
                "seed": lap.seed,
                "deal": lap.index,
                "finished": lap.finished,
                "record": lap.record,
                "result": result,
            }
        )
        try:
            append(path, line)
        except (OSError, ValueError) as error:
            complain(f"the lap could not be written to {path}: {said_by(error)}")
            complain("this is its line, to be kept by hand:")
            complain(line.decode("ascii"))
            self._unlogged = True

    def _show(self, number: int, review: Mapping[str, Any]) -> None:
        if self._single:
            say("\n" + pass_text(review["passes"][0]))
            return
        self._graded.append(Figures.of_review(review))
        say("\n" + lap_text(review, f"Lap {number}"))
        if self._most != 1:
            say("\n" + session_text(session_of(self._graded)))

    def _note(self, failure: Failure) -> None:
        failure.show()
        self._code = Exit(failure.exit_code)
