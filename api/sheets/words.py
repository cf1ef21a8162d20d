"""Words on the pages: rounds, passes, numbers, and the line at the foot."""

from __future__ import annotations

from collections.abc import Sequence

from api.convert.sentences import percent as in_percent
from api.wire.sheets import SheetAnswer, SheetBody, SheetLoss, SheetProblem
from patterns.tiles import Tile
from solver.advice import Closeness
from solver.deals import Difficulty
from solver.rounds import RULES, Round

_CALLS = {
    Closeness.ONLY: "the only pass allowed",
    Closeness.TOSS_UP: "a toss-up",
    Closeness.CLOSE: "a close call",
    Closeness.FAIR: "a fair lead",
    Closeness.CLEAR: "a clear choice",
}
_DIFFICULTIES = {Difficulty.CLOSE: "close calls", Difficulty.CLEAR: "clear choices"}


def round_words(round_: Round) -> str:
    """Return a round for people: ``First right``."""
    return round_.value.replace("_", " ").capitalize()


def may_give(round_: Round) -> str:
    """Return how many tiles a round takes, in words."""
    rule = RULES[round_]
    if rule.fewest == 3:
        return "pass three tiles"
    return "pass three, blind tiles among them if you like" if rule.blind else "pass none to three tiles"


def pass_words(passed: Sequence[Tile], blind: int = 0) -> str:
    """Return a pass for people: ``4 bam, east wind and 1 blind``."""
    own = ", ".join(tile.word for tile in passed)
    parts = ([own] if own else []) + ([f"{blind} blind"] if blind else [])
    return " and ".join(parts) or "nothing"


def tokens(tiles: Sequence[Tile]) -> str:
    """Return tiles as they are typed."""
    return " ".join(tile.value for tile in tiles)


def unbroken(sentence: str) -> str:
    """Return a sentence in which no line ends between a number and its percent sign."""
    return sentence.replace(" %", "\u00a0%")


def percent(share: float) -> str:
    """Return a share in percent, on one line."""
    return unbroken(in_percent(share))


def noticed(losses: Sequence[SheetLoss]) -> list[SheetLoss]:
    """Return the losses that can be seen in the numbers as they are shown."""
    return [loss for loss in losses if in_percent(loss.reach_before) != in_percent(loss.reach)]


def gap_words(gap: float) -> str:
    """Return how far a pass is behind."""
    return "the same" if gap == 0 else "under 0.0001 less" if gap < 0.00005 else f"{gap:.4f} less"


def call_words(answer: SheetAnswer) -> str:
    """Return how close a call it is."""
    return "no other pass was found" if answer.call is None else _CALLS[answer.call]


def source_words(sheet: SheetBody, problem: SheetProblem) -> str:
    """Return where a rack comes from: its deal, or nothing for one of somebody's own."""
    return "" if problem.index is None else f"deal {problem.index}"


def card_words(sheet: SheetBody) -> str:
    """Return the card's title, and the name that requests call it if that is another."""
    title, name = sheet.card.title, sheet.card.name
    return title if title == name else f"{title} ({name})"


def terms_of(sheet: SheetBody) -> list[str]:
    """Return what holds for every problem: difficulty, drill, arrivals and limits."""
    terms = []
    if sheet.difficulty in _DIFFICULTIES:
        terms.append(f"Chosen for {_DIFFICULTIES[sheet.difficulty]}.")
    if sheet.drill is not None:
        left = sheet.drill.exchanges_left
        exchanges = "1 exchange" if left == 1 else f"{left} exchanges"
        terms.append(f"One-person drill, {exchanges} left, then {sheet.drill.then_draws} tiles drawn.")
    if sheet.arrivals is not None:
        coming = sheet.arrivals
        terms.append(
            f"To come: {coming.charleston} tiles by exchanges, {coming.draws} from the wall,"
            f" {coming.claims} to claim."
        )
    return terms + [f"Limit: {limit}." for limit in sheet.limits]


def foot_of(sheet: SheetBody) -> str:
    """Return the line at the foot of every page: seed, card, versions."""
    seed = "own racks" if sheet.seed is None else f"seed {sheet.seed}"
    versions = f"threepass {sheet.versions.threepass}, ortools {sheet.versions.ortools}"
    return f"{seed} \u00b7 card {card_words(sheet)} \u00b7 {versions}"
