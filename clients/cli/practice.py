"""``threepass practice``: timed drills, each lap logged before anything is said of it."""

from __future__ import annotations

import secrets
import shlex
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic
from typing import Any

import click

from api.service import MAX_EXCHANGES as MOST_ROUNDS
from api.service import Figures, counted, in_order, session_of
from clients.cli import options as shared
from clients.cli.output import Exit, Failure, append, complain, said_by, say
from clients.cli.play import (
    COURTESY,
    STOP,
    Console,
    Lap,
    Stopwatch,
    interruptible,
    is_wish,
    play,
    rounds_of,
)
from clients.cli.review import LOG_MARK, lap_text, session_text
from clients.cli.service import Service, encoded

LOG_VERSION = 1
CLIENT = "terminal"
_SEEDS = 1_000_000
_MOST_SEED = 2**63 - 1


@click.command(short_help="A timed drill, graded and logged.")
@shared.whole(
    "--rounds",
    "Exchanges of each lap, 1 to 12, in the order they are played: 3 are the first Charleston, 6 both; those "
    "after the sixth are extra exchanges.",
    1,
    MOST_ROUNDS,
    default=3,
)
@click.option("--courtesy", is_flag=True, help="End each lap with a courtesy pass of 0 to 3 tiles.")
@shared.whole("--laps", "How many laps; a lap is one Charleston, played through.", 1, default=1)
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
@click.option("--log", metavar="FILE", help="Append the laps here, not to the log in your data folder.")
@click.option("--no-log", is_flag=True, help="Keep no log.")
@shared.server
@click.pass_context
def practice(
    context: click.Context,
    /,
    rounds: int,
    courtesy: bool,
    laps: int,
    seed: int | None,
    start: int,
    card: str,
    difficulty: str,
    log: str | None,
    no_log: bool,
    server: str | None,
) -> None:
    """Practice the Charleston against the clock.

    Each lap deals fourteen tiles and a heap without jokers in place of the other players. Only the time
    from seeing the rack to the last pass counts. Then every pass is graded, and the lap is appended to a
    log of JSON lines that is yours: see `threepass progress`.

    Exit codes: 0 played, 1 refused, 2 wrong usage, 3 no server reached, 5 a lap could not be logged (its
    line is on stderr), 130 interrupted (the lap under way is logged as not finished).
    """
    if log is not None and no_log:
        raise click.UsageError("--log and --no-log exclude each other", context)
    if rounds + courtesy > MOST_ROUNDS:
        raise click.UsageError(f"with --courtesy there may be {MOST_ROUNDS - 1} rounds before it", context)
    source = shared.card_of(card)
    seed = secrets.randbelow(_SEEDS) if seed is None else seed
    to = None if no_log else default_log() if log is None else Path(log)
    with Service(server) as service, interruptible():
        session = Session(service, source, card, rounds_of(rounds, courtesy), seed, difficulty, to)
        code = session.run(laps, start)
    context.exit(code)


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def default_log() -> Path:
    """Return the log's place when none is named: in the folder where this person's programs keep data."""
    from platformdirs import user_data_path

    return user_data_path("threepass", appauthor=False) / "practice.jsonl"


@dataclass
class Session:
    """Plays laps.

    Attributes:
        service: Where deals and grades come from.
        card: As the service takes it.
        card_option: The same as it was written on the command line.
        rounds: Names of the rounds of each lap, 1 to 12.
        seed: Names the deals.
        difficulty: Of the first pass.
        log: Where laps are appended, or None to keep none.
    """

    service: Service
    card: str | dict[str, Any]
    card_option: str
    rounds: tuple[str, ...]
    seed: int
    difficulty: str
    log: Path | None

    def __post_init__(self) -> None:
        self._console = Console()
        self._card_name = self.card if isinstance(self.card, str) else str(self.card["file"])
        self._graded: list[Figures] = []
        self._code = 0

    def run(self, laps: int, start: int) -> int:
        """Play this many laps, or until the person stops, from a deal on; return the exit code.

        A lap that could not be logged outweighs what else went wrong: its line must be kept by hand.
        """
        try:
            for number in range(1, laps + 1):
                lap = self._deal(start)
                if lap is None or not self._ready(f"Lap {number} of {laps}", lap):
                    break
                start = lap.index + 1
                self._play(number, laps, lap)
        except Failure as failure:
            self._note(failure)
        except EOFError:
            with suppress(OSError):  # the terminal may be gone, not only its input
                say("")
        except KeyboardInterrupt:
            complain("\ninterrupted")
            self._end_with(Exit.INTERRUPTED)
        return self._code

    def _deal(self, start: int) -> Lap | None:
        wish = {
            "seed": self.seed,
            "start": start,
            "drill": {"exchanges_left": len(self.rounds)},
            "heap": True,
            "difficulty": self.difficulty,
            "card": self.card,
        }
        answer = self.service.post("/v1/deals", encoded(wish)).answer()
        if not answer["deals"]:
            tried = answer["tried"]
            complain(f"no {self.difficulty} deal among {tried} tried: another seed or start may have one")
            self._end_with(Exit.REFUSED)
            return None
        (found,) = answer["deals"]
        return Lap(self.seed, found["index"], tuple(found["rack"]), tuple(found["heap"]), self.rounds)

    def _ready(self, title: str, lap: Lap) -> bool:
        courtesy = COURTESY in self.rounds
        plain = len(self.rounds) - courtesy
        say(
            f"\n{title}: {counted(plain, 'round')}"
            f"{' and a courtesy pass' if courtesy else ''} with the card {self._card_name}, "
            f"seed {lap.seed}, deal {lap.index}\n"
            f"  The same again: --seed {lap.seed} --start {lap.index} --rounds {plain} "
            f"{'--courtesy ' if courtesy else ''}--card {shlex.quote(self.card_option)}\n"
            '  Type the tiles, such as 4b 4c E. "?" explains, "p" pauses, "q" stops the lap.'
        )
        return not is_wish(self._console.ask('Ready? Enter starts the clock, "q" ends: '), STOP)

    def _play(self, number: int, laps: int, lap: Lap) -> None:
        at = _now()
        answer, result, cut_off = None, None, True
        try:
            play(lap, self._console, Stopwatch(monotonic))
            cut_off = False
            if lap.finished:
                say("  The clock is stopped. Grading...")
                answer = self._grade(lap)
                result = None if answer is None else _result_of(answer)
        finally:
            self._keep(lap, at, result)
            if not lap.finished:
                made = counted(len(lap.exchanges), "round")
                says = f"stopped after {made}: the lap is not finished and counts in no average"
                complain(f"\n{says}" if cut_off else says)
        if answer is not None:
            self._show(number, laps, answer["reviews"][0])

    def _grade(self, lap: Lap) -> Mapping[str, Any] | None:
        """Return the answer with the lap's review, or None when there was none."""
        try:
            return self.service.post("/v1/reviews", encoded({"records": [self._record(lap)]})).answer()
        except Failure as failure:
            self._note(failure)
            complain("the lap has no review")
            return None

    def _record(self, lap: Lap) -> dict[str, Any]:
        """Return the lap as ``POST /v1/reviews`` takes it."""
        rack = in_order(lap.dealt)
        return {"card": self.card, "rack": rack, "exchanges": lap.exchanges, "drill": True}

    def _keep(self, lap: Lap, at: str, result: Mapping[str, Any] | None) -> None:
        """Append the lap to the log; when that fails say so and print its line on stderr."""
        path = self.log
        if path is None:
            return
        line = encoded(
            {
                LOG_MARK: LOG_VERSION,
                "at": at,
                "client": CLIENT,
                "card": self._card_name,
                "seed": lap.seed,
                "deal": lap.index,
                "finished": lap.finished,
                "record": self._record(lap),
                "result": result,
            }
        )
        try:
            append(path, line)
        except (OSError, ValueError) as error:
            complain(f"the lap could not be written to {path}: {said_by(error)}")
            complain("this is its line, to be kept by hand:")
            complain(line.decode("ascii"))
            self._end_with(Exit.NOT_WRITTEN)

    def _show(self, number: int, laps: int, review: Mapping[str, Any]) -> None:
        self._graded.append(Figures.of_review(review))
        say("\n" + lap_text(review, f"Lap {number}"))
        if laps > 1:
            say("\n" + session_text(session_of(self._graded)))

    def _note(self, failure: Failure) -> None:
        failure.show()
        self._end_with(failure.exit_code)

    def _end_with(self, code: int) -> None:
        if self._code != Exit.NOT_WRITTEN:
            self._code = code


def _result_of(answer: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the log keeps of a review."""
    review, session = answer["reviews"][0], answer["session"]
    return {
        "strength_given_up": review["given_up"],
        "share_within_resolution": session["within_resolution"],
        "tiles_away": review["tiles_away"],
        "seconds": review["seconds"],
        "pace": review["pace"],
    }
