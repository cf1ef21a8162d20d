"""A session: laps one after another, each logged before anything is said of it."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from clients.cli.exits import INTERRUPTED, NOT_WRITTEN, REFUSED, Failure
from clients.cli.output import complain
from clients.cli.practice.console import Console
from clients.cli.practice.interrupts import Interrupts
from clients.cli.practice.lap import Deal, Lap
from clients.cli.practice.log_writing import keep
from clients.cli.practice.play import play
from clients.cli.practice.service_calls import fetch_deal, fetch_review, result_of
from clients.cli.practice.typed import Wish, wish_of
from clients.cli.practice.watch import Stopwatch
from clients.cli.problems import not_threepass
from clients.cli.render.review import lap_text, session_text
from clients.cli.render.words import counted
from clients.cli.session import session_of
from clients.cli.transport import Service


@dataclass(frozen=True)
class Wanted:
    """What is to be practised.

    Attributes:
        card: As the API takes it.
        card_name: The same in a word, for the log.
        card_option: The same as it was written on the command line.
        rounds: Rounds of each lap, 1 to 12.
        laps: 1 or more.
        start: Index of the first deal to try.
        log: Where laps are appended, or None to keep none.
    """

    card: str | dict[str, Any]
    card_name: str
    card_option: str
    rounds: int
    laps: int
    seed: int
    start: int
    difficulty: str
    log: Path | None


class Session:
    """Plays laps.

    Args:
        wanted: What is to be practised.
        service: Where deals and grades come from.
        console: Where it is played.
        interrupts: Heeded while the service is waited for.
        clock: Seconds from any fixed moment, for timing.
        now: The date and time as ISO 8601, for the log.
    """

    def __init__(
        self,
        wanted: Wanted,
        service: Service,
        console: Console,
        interrupts: Interrupts,
        clock: Callable[[], float],
        now: Callable[[], str],
    ) -> None:
        self._wanted = wanted
        self._service = service
        self._console = console
        self._interrupts = interrupts
        self._clock = clock
        self._now = now
        self._reviews: list[dict[str, Any]] = []
        self._code = 0

    def run(self) -> int:
        """Play all laps, or until the person stops; return the exit code.

        A lap that could not be logged outweighs what else went wrong: its line must be kept by hand.
        """
        try:
            self._laps()
        except Failure as failure:
            self._note(failure)
        except EOFError:
            with suppress(OSError):  # the terminal may be gone, not only its input
                self._console.say()
        except KeyboardInterrupt:
            complain("\ninterrupted")
            self._end_with(INTERRUPTED)
        return self._code

    def _laps(self) -> None:
        start = self._wanted.start
        for number in range(1, self._wanted.laps + 1):
            deal = self._deal(start)
            if deal is None or not self._ready(number, deal):
                return
            start = deal.index + 1
            self._lap(number, deal)

    def _deal(self, start: int) -> Deal | None:
        wanted = self._wanted
        with self._interrupts.open_to_asyncio():
            deal, tried = fetch_deal(
                self._service, wanted.card, wanted.seed, start, wanted.rounds, wanted.difficulty
            )
        if deal is None:
            complain(f"no {wanted.difficulty} deal among {tried} tried: another seed or start may have one")
            self._end_with(REFUSED)
        return deal

    def _ready(self, number: int, deal: Deal) -> bool:
        wanted = self._wanted
        self._console.say(
            f"\nLap {number} of {wanted.laps}: {counted(wanted.rounds, 'round')} with the card "
            f"{wanted.card_name}, seed {deal.seed}, deal {deal.index}\n"
            f"  The same again: --seed {deal.seed} --start {deal.index} --rounds {wanted.rounds} "
            f"--card {shlex.quote(wanted.card_option)}\n"
            '  Type the tiles, such as 4b 4c E. "?" explains, "p" pauses, "q" stops the lap.'
        )
        return wish_of(self._console.ask('Ready? Enter starts the clock, "q" ends: ')) is not Wish.STOP

    def _lap(self, number: int, deal: Deal) -> None:
        wanted = self._wanted
        lap = Lap(deal, wanted.card, wanted.card_name, wanted.rounds, self._now())
        review, result, cut_off = None, None, True
        try:
            play(lap, self._console, Stopwatch(self._clock))
            cut_off = False
            if lap.finished:
                self._console.say("  The clock stands. Grading...")
                review, result = self._graded(lap)
        finally:
            self._keep(lap, result)
            if not lap.finished:
                made = counted(len(lap.exchanges), "pass", "passes")
                says = f"stopped after {made}: the lap is not finished and counts in no average"
                complain(f"\n{says}" if cut_off else says)
        if review is not None:
            self._show(number, review)

    def _graded(self, lap: Lap) -> tuple[dict[str, Any] | None, dict[str, Any] | None]:
        try:
            with self._interrupts.open_to_asyncio():
                answer = fetch_review(self._service, lap.record)
            result = result_of(answer)
        except Failure as failure:
            self._note(failure)
            complain("the lap has no review")
            return None, None
        return answer["reviews"][0], result

    def _keep(self, lap: Lap, result: dict[str, Any] | None) -> None:
        if self._wanted.log is not None and not keep(self._wanted.log, lap.line(result)):
            self._end_with(NOT_WRITTEN)

    def _show(self, number: int, review: dict[str, Any]) -> None:
        try:
            text = lap_text(review, f"Lap {number}")
            averages = session_text(session_of([*self._reviews, review]))
        except (LookupError, TypeError, ValueError, AttributeError):
            self._note(not_threepass())
            return
        self._reviews.append(review)
        self._console.say("\n" + text)
        if self._wanted.laps > 1:
            self._console.say("\n" + averages)

    def _note(self, failure: Failure) -> None:
        failure.show()
        self._end_with(failure.exit_code)

    def _end_with(self, code: int) -> None:
        if self._code != NOT_WRITTEN:
            self._code = code
