"""Which passes to play again, and when: spaced repetition by the kept library `fsrs`."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from fsrs import Card, Rating, Scheduler

from solver.coach.insights import Played

# Days; a weak spot is seen again at least once a year.
_LONGEST = 365


@dataclass(frozen=True)
class Repeat:
    """A pass on the list: the index of its latest attempt, when it is due again, how often it was tried."""

    index: int
    due: datetime
    times: int


def repeats(passes: Sequence[Played], more_than: float) -> list[Repeat]:
    """Return the passes that ever lost more than a share (0 to 1), those that are due first at the top.

    The first attempt that lost so much puts a pass on the list. From then on each attempt tells when it is
    due again: the less was lost, the later. Those of the same time count in the order they come in.
    """
    # Without fuzz the same attempts give the same days.
    scheduler = Scheduler(maximum_interval=_LONGEST, enable_fuzzing=False)
    cards: dict[Hashable, Card] = {}
    found: dict[Hashable, Repeat] = {}
    for index, played in sorted(enumerate(passes), key=lambda each: each[1].at):
        asked = played.asked
        if asked not in cards and played.share <= more_than:
            continue
        at = played.at.astimezone(UTC)
        # A number of its own spares the library the look at the clock by which it would make one.
        card = cards.get(asked) or Card(card_id=index, due=at)
        cards[asked], _ = scheduler.review_card(card, _rating(played.share, more_than), at)
        times = found[asked].times + 1 if asked in found else 1
        found[asked] = Repeat(index, cards[asked].due, times)
    return sorted(found.values(), key=lambda each: each.due)


def _rating(share: float, more_than: float) -> Rating:
    if share > more_than:
        return Rating.Again
    if share > more_than / 2:
        return Rating.Hard
    return Rating.Good if share > 0 else Rating.Easy
