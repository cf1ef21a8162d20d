"""Words and numbers for people, made once: the command, the page and the print show them as they are.

One line each, without markup or an end of line. Losses are a share of the best first, the number second.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from patterns.tiles import Tile
from solver.rounds import RULES, SECOND_CHARLESTON, Direction, Round

if TYPE_CHECKING:  # a client of a server uses what is here too, and need not load the solver
    from api.answers.question import VersionsBody
    from patterns.card import Hand
    from solver.advice import Advice, Closeness, LimitsCost, OwnPass
    from solver.arrivals import Arrivals, Fit, Odds
    from solver.coach.insights import Group
    from solver.passes import Valued
    from solver.situation import Question
    from solver.table.fitting import Judged
    from solver.why import Sensitivity

# A rack strength is read as so many times the number on the wire, which is small.
_TIMES = 1_000
# What rack strength is, by what passes are compared by. Provenance of what a tenth costs: 400 Charlestons on
# each of three cards with one pass the 21st best (tests/benchmarks/RESULTS.md).
STRENGTH_NOTES = {
    "strength": "Rack strength is all chances added up, the likelier counting for more. It compares passes:"
    " in simulated games a tenth less of it cost 1 to 2 % of wins early in the Charleston, 3 to 4 % late.",
    "sum": "Rack strength is all chances added up, times 1,000; it compares passes.",
}
_COMPARED = {
    "strength": "rack strength: all chances added up, the likelier counting for more",
    "sum": "the plain sum of chances",
}
ALONE_NOTE = "Alone: the chance for a player who from now on goes for that hand only."
ODDS_BY_ESTIMATE = "Odds are estimated at the first question; `threepass cards fit` measures them in games."
CHANCE_NOTE = "The chance is that of completing the hand's best target from a random deal, by the model."
SAMPLES_NOTE = "tiles come in as readily as others pass them; at most one vote in twenty is called wrongly"
STOP_RULE = "Any one player may stop the second Charleston: a vote says whether you would stop it."
TRAITS = {
    "one-suit": "Suited tiles of one suit only",
    "two-suits": "Suited tiles of two suits",
    "three-suits": "Suited tiles of all three suits",
    "pairs-only": "Nothing but pairs",
    "big-groups": "A group of five or more alike",
    "no-flowers": "No flowers",
    "winds-dragons-only": "No suited tiles",
    "no-joker-needed": "Can be made without jokers",
    "concealed": "Concealed",
    "narrow": "Ranks that lie within four",
}
# By what they are called on the wire.
_TO_WHOM = {
    Direction.RIGHT: "on your right",
    Direction.ACROSS: "across from you",
    Direction.LEFT: "on your left",
}
_LEADS = {"close": "a close choice", "fair": "a fair lead", "clear": "a clear best"}
_IN_SHORT = {"only pass": "the only pass allowed", "toss-up": "a toss-up", **_LEADS}
VERDICTS = {
    "stop": "stop after the first Charleston: the better chance of some hand",
    "go on": "go on to the second Charleston: the better chance of some hand",
    "too close to call": "too close to call: the samples do not tell",
}


def free_words(hand: Hand) -> str:
    """Say what is open in a hand: suits, ranks, winds, dragons."""
    from patterns.notation import AnyOf, DragonOf, Numbered, parse_groups

    tiles = [group.tile for written in hand.notation for group in parse_groups(written)]
    suited = [tile for tile in tiles if isinstance(tile, Numbered | DragonOf)]
    letters = {tile.suit for tile in suited if isinstance(tile.suit, str)}
    suits = {1: "any one suit", 2: "any two suits", 3: "the three suits in any order"}
    says = [suits[len(letters)]] if letters else []
    if any(isinstance(tile, Numbered) and tile.rank.free for tile in tiles):
        says.append(f"n {_condition(hand.where)}")
    says += [
        f"any {kind}" if len(names) == 1 else f"any two {kind}s"
        for kind in ("wind", "dragon")
        if (names := {t.name for t in tiles if isinstance(t, AnyOf) and t.name.startswith(kind)})
    ]
    if len(hand.notation) > 1:
        says.append(f"{len(hand.notation)} ways to make it")
    return "; ".join(says) or "exactly these tiles"


def _condition(where: str | None) -> str:
    """Return a condition on n in words: ``n in 1..7 and n odd`` is ``from 1 to 7 and odd``."""
    if where is None:
        return "any number"
    return re.sub(r"n in (\d)\s*\.\.\s*(\d)", r"from \1 to \2", where).replace("n ", "")


def percent(share: float) -> str:
    """Return a share in percent; what would round to nothing says so."""
    return "under 0.1 %" if 0 < share < 0.0005 else f"{100 * share:.1f} %"


def chance(reach: float) -> str:
    """Return the chance of a hand in percent, below one with two digits that count."""
    if reach == 0 or reach >= 0.01:
        return percent(reach)
    if reach < 0.00001:
        return "under 0.001 %"
    return f"{100 * reach:.{1 - math.floor(math.log10(100 * reach))}f} %"


def strength(worth: float) -> str:
    """Return a rack strength; what would round to nothing says so."""
    shown = _TIMES * worth
    return "under 0.1" if 0 < shown < 0.05 else f"{shown:.1f}"


def fine(difference: float) -> str:
    """Return a small difference of rack strength; what would round to nothing says so."""
    shown = _TIMES * difference
    return "under 0.01" if 0 < shown < 0.005 else f"{shown:.2f}"


def counted(number: int, one: str) -> str:
    """Return a number with its noun: ``1 hand``, ``1,043 targets``, ``2 passes``."""
    more = one + ("es" if one.endswith("s") else "s")
    return f"{number:,} {one if number == 1 else more}"


def share_and_number(lost: float, best: float) -> str:
    """Return a loss as a share of the best, and as a number: ``2.2 % (0.18)``."""
    return f"{percent(lost / best)} ({fine(lost)})" if best > 0 else fine(lost)


def loss(gap: float, best: float) -> str:
    """Return how far a pass is behind the best: ``2.2 % weaker (0.18)``."""
    return "the same" if gap == 0 else _by(gap, best, "weaker")


def _by(difference: float, of: float, how: str) -> str:
    return f"{percent(difference / of)} {how} ({fine(difference)})" if of > 0 else f"{fine(difference)} {how}"


def clock(seconds: float) -> str:
    """Write seconds as minutes and seconds to a tenth, half up: 119 is ``1:59.0``, 59.97 is ``1:00.0``."""
    tenths = int(Fraction(seconds) * 10 + Fraction(1, 2))
    return f"{tenths // 600}:{tenths % 600 // 10:02d}.{tenths % 10}"


def round_words(round_: Round) -> str:
    """Return a round for people: ``First right``."""
    return round_.value.replace("_", " ").capitalize()


def may_give(round_: Round) -> str:
    """Return how many tiles a round takes."""
    rule = RULES[round_]
    if rule.allowed == (3,):
        return "pass three tiles"
    return "pass three, blind tiles among them if you like" if rule.blind else "pass none to three tiles"


def in_order(tiles: Iterable[Tile]) -> list[Tile]:
    """Return tiles in the fixed order."""
    return sorted(tiles, key=lambda tile: tile.position)


def tiles_words(tiles: Iterable[Tile], blind: int = 0) -> str:
    """Return tiles in words, and how many more go on unseen: ``4 bam, east wind and 1 blind``."""
    own = ", ".join(tile.word for tile in in_order(tiles))
    return " and ".join([*([own] if own else []), *([f"{blind} blind"] if blind else [])]) or "nothing"


def strength_words(before: float, after: float) -> str:
    """Return the rack strength before and after a pass."""
    return f"{strength(before)} with the whole rack, {strength(after)} after the pass"


def some_hand_words(chance: float | None, fit: Fit | None) -> str | None:
    """Return the chance of completing some hand; None where it is not known."""
    if chance is None or fit is None:
        return None
    how = "as measured in simulated games" if fit.games else "an estimate for this card"
    return f"{percent(chance)} to complete one, {how}"


def odds_words(fit: Fit | None, *, told: bool, chosen: bool) -> str:
    """Say where the odds come from, or why none are `told`; limits may have `chosen` which hands count."""
    if not told:
        return "No odds are stated: none were measured in drills, or with other numbers of tiles to come."
    if fit is None:
        return (
            "No odds are stated: with this card games would have to be of another length than any that were"
            " played, or an estimate would take too long. `threepass cards fit` measures them."
        )
    says = "An estimate, without games of this card; `threepass cards fit` measures odds."
    if fit.games:
        off = f"; on games held back they were off by {percent(fit.error or 0.0)} on average"
        says = f"Odds were measured in {counted(fit.games, 'simulated game')} with this card"
        says += "." if fit.error is None else f"{off}."
    if chosen:
        says += " The chance of some hand is not stated: it was measured with all hands of the card."
    return says


def judged_words(judged: Judged) -> str:
    """Say how true odds are of games that they were not fitted to."""
    what = "some hand" if judged.make is None else f"one hand alone, {_MADE_OF[judged.make.value]}"
    when = "when play begins" if judged.after is None else f"after {judged.after.words}"
    off = f"off by {percent(judged.error)} on average, chance alone {percent(judged.by_chance)}"
    return f"{what}, {when}: {off}; {judged.ratio:.2f} times as often as predicted"


_MADE_OF = {
    "groups": "for groups only",
    "some_pairs": "with pairs or singles",
    "pairs_only": "for pairs only",
    "concealed": "for a concealed hand",
}


def _for_odds(odds: Odds | None, arrivals: Arrivals) -> Iterator[str]:
    if odds is None:
        return
    if odds.some_hand is not None and odds.some_hand != arrivals:
        yield f"To come, for the chance of some hand: {_all_coming(odds.some_hand)}."
    kinds = zip(_MADE_OF.values(), odds.alone, strict=True)
    plays = "; ".join(f"{kind} {play_words(coming)}" for kind, coming in kinds)
    exchanges = counted(odds.alone[0].charleston, "tile")
    yield f"To come to a player of one hand alone: exchanges worth {exchanges}; {plays}."


def gives_away_words(gain: float, usual: float, direction: Direction) -> str:
    """Return how much a pass helps whoever gets it, against a usual one."""
    return (
        f"it makes the rack of the player {_TO_WHOM[direction]} about {100 * gain:.0f} % stronger on average;"
        f" three tiles as others pass them, {100 * usual:.0f} %"
    )


def limits_cost(cost: LimitsCost) -> str:
    """Return what limits cost against the best pass without them."""
    return f"{percent(cost.share)} ({fine(cost.strength)})" if cost.strength else "nothing"


def proof_words(advice: Advice) -> str:
    """Return that the pass is proved best, and what limits cost where there are any on the pass."""
    cost = advice.limits_cost
    return "proved best" + ("" if cost is None else f" within your limits, which cost {limits_cost(cost)}")


def closeness_words(advice: Advice) -> str:
    """Return how close the choice is."""
    if advice.closeness is None:
        return "not weighed: no runner-up was asked for"
    if not advice.runner_ups:
        return "no choice: no other pass is allowed"
    lead = _LEADS.get(advice.closeness.value)
    if lead is None:
        return "a toss-up: the runner-up is worth the same"
    return f"{lead}: the runner-up is {loss(advice.behind(advice.runner_ups[0]), advice.strength)}"


def lead_words(closeness: Closeness | None) -> str:
    """Return how close a choice is, in short."""
    if closeness is None:
        return "no other pass was found"
    return _IN_SHORT[closeness.value]


def kept_words(shown: int, in_reach: int, on_card: int) -> str:
    """Return how many hands are within reach, and how many of them are listed."""
    says = f"{in_reach} of {counted(on_card, 'hand')} within reach after the pass"
    return f"{says}, of which the likeliest {shown}" if 0 < shown < in_reach else says


def cost_words(with_it: Valued | None, advice: Advice) -> str:
    """Return what it costs to pass a tile, by the best pass with it."""
    if with_it is None:
        return "your limits allow no pass with it"
    if with_it.passed == advice.passed:
        return "in the advised pass"
    return loss(advice.behind(with_it), advice.strength)


def keep_words(share: float | None, *, passed: bool) -> str:
    """Return what a tile is worth to keep, short enough to stand below it."""
    if share is None:
        return "stays"
    return "goes" if passed else percent(share)


def own_pass_words(mine: OwnPass, advice: Advice) -> dict[str, str | None]:
    """Return how a pass of the asker's own stands against the best, a line each."""
    if mine.passed == advice.passed:
        stands = "it is the best pass"
    elif mine.gap < 0:
        stands = "stronger than the best that your limits allow"
    else:
        stands = f"{loss(mine.gap, advice.strength)} {'than' if mine.gap else 'as'} the best"
    keeps, loses = (
        "; ".join(_changes(((each.hand.name, each.after, each.before) for each in hands), "rather than"))
        for hands in (mine.keeps, mine.loses)
    )
    limits = "; ".join(limit.says for limit in mine.breaks)
    return {
        "worth": f"Rack strength {strength(mine.strength)}: {stands}.",
        "rank": f"Place {mine.rank} of {mine.of} among all passes.",
        "keeps": f"It keeps {keeps}." if keeps else None,
        "loses": f"It leaves {loses}." if loses else None,
        "limits": f"It breaks your limits: {limits}." if limits else None,
    }


def why_sentence(advice: Advice, hangs_on: Sequence[Sensitivity]) -> str:
    """Say which tile is costliest to pass, and whether the answer hangs on the arrivals."""
    return " ".join([_costliest(advice), *_varied(hangs_on)])


def _costliest(advice: Advice) -> str:
    if not advice.with_each:
        return "No tile is passed."
    costs = {tile: advice.behind(best or advice) for tile, best in advice.with_each.items()}
    tile, cost = max(costs.items(), key=lambda pair: pair[1])
    if not cost:
        return "No tile that may go costs more than those in the pass."
    return f"The costliest tile to pass is {tile.word}: {loss(cost, advice.strength)}."


def _varied(hangs_on: Sequence[Sensitivity]) -> list[str]:
    # Where nothing is drawn or claimed there was nothing to vary.
    varied = [each for each in hangs_on if each.arrivals.mean_draws + each.arrivals.mean_claims]
    same = [_direction(each) for each in varied if each.same]
    says = [f"With a fifth {' or '.join(same)} draws and discards to call, no pass would be better."]
    return (says if same else []) + [
        f"With a fifth {_direction(each)} draws and discards to call, {tiles_words(each.passed)} would be"
        f" better, by {fine(each.regret)}."
        for each in varied
        if not each.same
    ]


def _direction(each: Sensitivity) -> str:
    return "fewer" if each.share < 1 else "more"


def sensitivity_words(each: Sensitivity) -> str:
    """Say what is best when fewer or more tiles come."""
    comes = f"{100 * each.share:.0f} % as many, {play_words(each.arrivals)}"
    if each.same:
        return f"{comes}: the same pass."
    return f"{comes}: {tiles_words(each.passed)} is better, by {fine(each.regret)}."


def play_words(coming: Arrivals) -> str:
    """Return what is to come from the wall and from others."""
    if len(coming.lengths) == 1:
        drawn = f"{counted(round(coming.mean_draws), 'tile')} from the wall"
        discards = round(coming.mean_claims)
        return f"{drawn}, {counted(discards, 'discard')} you may call" if discards else drawn
    return (
        f"on average {coming.mean_draws:.1f} tiles from the wall and {coming.mean_claims:.1f} discards"
        f" you may call ({len(coming.lengths)} lengths of play)"
    )


def assumed_sentences(
    question: Question,
    arrivals: Arrivals,
    odds: Odds | None,
    card_name: str,
    limits: Sequence[str],
    versions: VersionsBody,
    *,
    exchanges: bool,
) -> list[str]:
    """Return what an answer rests on, a sentence each."""
    card, outlook = question.card, question.situation.outlook
    called = card.name if card.name == card_name else f"{card.name} ({card_name})"
    unseen, jokers = counted(outlook.naturals + outlook.jokers, "tile"), counted(outlook.jokers, "joker")
    return [
        f"Compared by {_COMPARED[question.objective.value]}.",
        f"To come: {_all_coming(arrivals) if exchanges else play_words(arrivals)}.",
        *_for_odds(odds, arrivals),
        f"Unseen: {unseen}, {jokers} among them, each as likely to come as any other.",
        f"Card: {called}, {counted(len(card.hands), 'hand')}, {counted(card.target_count, 'target')}.",
        f"Limits: {'; '.join(limits) or 'none'}.",
        f"threepass {versions.threepass}, ortools {versions.ortools}.",
    ]


def _all_coming(coming: Arrivals) -> str:
    return f"exchanges worth {counted(coming.charleston, 'tile')}; {play_words(coming)}"


def way_words(value: float, chance: float | None) -> str:
    """Return what one way is worth as the courtesy pass is made, and its chance of some hand if known."""
    some = "" if chance is None else f", {percent(chance)} to complete some hand"
    return f"{strength(value)} after the courtesy pass{some}"


def difference_words(stop: float, go_on: float, error: float) -> str:
    """Return which way is stronger, and how sure that is."""
    more, sure = abs(go_on - stop), f"give or take {fine(error)}"
    if more == 0:
        return f"none, {sure}"
    way, other = ("going on", stop) if go_on > stop else ("stopping", go_on)
    return f"{way} is {_by(more, other, 'stronger')}, {sure}"


def turn_words(turn: int) -> str:
    """Return which exchange of a drill a planned pass is for."""
    return ("This exchange", "Next exchange")[turn] if turn < 2 else f"Exchange {turn + 1} from now"


def second_charleston_words(rounds: Sequence[Round]) -> str | None:
    """Say from which planned pass on the second Charleston is assumed to be played; None where none is."""
    assumed = [round_ for round_ in rounds[1:] if round_ in SECOND_CHARLESTON]
    if not assumed or rounds[0] in SECOND_CHARLESTON:
        return None
    name = assumed[0].value.replace("_", " ")
    return f"From {name} on, the plan assumes that nobody stops the second Charleston."


def _changes(kept: Iterable[tuple[str, float, float]], instead: str) -> list[str]:
    """Return hands whose two chances read differently: ``Copper Pans at 2.0 % rather than 1.0 %``."""
    return [
        f"{name} at {first} {instead} {second}"
        for name, one, other in kept
        if (first := chance(one)) != (second := chance(other))
    ]


def graded_sentence(
    best: str, strength_of_best: float, lost: float, kept: Iterable[tuple[str, float, float]]
) -> str:
    """Say why a pass got its grade; `kept` has hands, with what the best pass leaves and what it leaves."""
    changes = kept_better(kept)
    keeps = f" It keeps {changes}." if changes else ""
    behind = f"{loss(lost, strength_of_best)} than its {strength(strength_of_best)}"
    return f"Best was {best}; yours is {behind}.{keeps}"


def kept_better(kept: Iterable[tuple[str, float, float]]) -> str | None:
    """Return hands that a pass keeps better than the best: their chances after it and after that."""
    return "; ".join(_changes(kept, "rather than")) or None


def key_sentence(advice: Advice, kept_better: Sequence[tuple[str, float, float]]) -> str:
    """Say why the best pass is better than the next one, or what else would be as good.

    Of hands that it keeps better, there are the chances that the best pass leaves and the next one.
    """
    if not advice.runner_ups:
        return _without_runner_up(advice)
    other = advice.runner_ups[0]
    swap = _swap(advice.passed, other.passed)
    gap = advice.behind(other)
    if gap <= advice.resolution:
        return f"{swap} would be worth the same: either will do."
    costs = f"{swap} would be {loss(gap, advice.strength)}"
    kept = _changes(((name, worse, better) for name, better, worse in kept_better), "instead of")
    return f"{costs}: it leaves {' and '.join(kept)}." if kept else f"{costs}."


def _without_runner_up(advice: Advice) -> str:
    rest = [value for value in advice.by_number if len(value.passed) != len(advice.passed)]
    if rest:
        next_best = max(rest, key=lambda value: value.strength)
        behind = loss(advice.behind(next_best), advice.strength)
        return f"Giving {len(next_best.passed)} at best would be {behind}."
    return "It is the only pass that was found." if advice.closeness is None else "No other pass is allowed."


def _swap(best: Iterable[Tile], other: Iterable[Tile]) -> str:
    ours, theirs = Counter(best), Counter(other)
    return f"Giving {_listed(theirs - ours)} in place of {_listed(ours - theirs)}"


def _listed(tiles: Counter[Tile]) -> str:
    words = [
        tile.word if count == 1 else f"{tile.word} twice" if count == 2 else f"{tile.word} {count} times"
        for tile, count in sorted(tiles.items(), key=lambda item: item[0].position)
    ]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def session_words(session: Mapping[str, Any]) -> dict[str, str]:
    """Return averages over laps in words: what was lost, in what time, and how the racks stood."""
    laps, timed = session["laps"], session["timed"]
    time = "no lap was timed throughout"
    if session["seconds"] is not None:
        time = f"{clock(session['seconds'])} a lap{'' if timed == laps else f', over the {timed} timed'}"
    lost = f"{percent(session['share'])} of what the best passes keep"
    return {
        "title": f"Average over {counted(laps, 'lap')}",
        "time": time,
        "lost": f"{lost} ({fine(session['given_up'])} {'in all' if laps == 1 else 'a lap'})",
        "as_good": f"{percent(session['within_resolution'])} of the passes",
        "away": f"{session['tiles_away']:.1f} at the end",
    }


_GIVEN = {
    "pair": ("A tile of a pair", "giving a tile of a pair"),
    "flower": ("A flower", "giving a flower"),
    "lone": ("A lone wind or dragon", "giving a lone wind or dragon"),
    "rank": ("One of three of a rank", "giving one of three of a rank, a suit each"),
    "blind": ("Blind tiles", "passing blind"),
}
_BY = {
    "round": "round",
    "seconds": "time taken",
    "given": "what was given",
    "direction": "direction given up",
}


def group_words(group: Group, *, costliest: bool) -> dict[str, str | None]:
    """Return a row of a table of groups, and a sentence where its passes are known to cost more."""
    name, subject = _group_names(group)
    low, high = group.interval or (0.0, 0.0)
    says = None
    if group.costs and group.rest is not None:
        how = "most" if costliest else "more than the rest"
        each = (
            f"{percent(group.mean)} a pass, {counted(group.passes, 'pass')}, the rest {percent(group.rest)}"
        )
        says = f"{subject[0].upper()}{subject[1:]} costs you {how}: {each}."
    return {
        "by": f"By {_BY[group.by.value]}",
        "name": name,
        "passes": f"{group.passes:,}",
        "lost": "-" if group.interval is None else percent(group.mean),
        "interval": "too few" if group.interval is None else f"{100 * low:.1f} to {100 * high:.1f} %",
        "says": says,
    }


def _group_names(group: Group) -> tuple[str, str]:
    if group.seconds is not None:
        low, high = (f"{seconds:.1f}" for seconds in group.seconds)
        if group.name == "quick":
            return f"Quickest third, up to {high} s", f"hurry (up to {high} seconds)"
        if group.name == "slow":
            return f"Slowest third, from {low} s", f"taking long ({low} seconds or more)"
        return f"Middle third, {low} to {high} s", f"taking {low} to {high} seconds"
    if group.by.value == "given":
        return _GIVEN[group.name]
    if group.by.value == "direction":
        return group.name, f"giving up {group.name}"
    name = group.name.replace("_", " ")
    return name.capitalize(), name


def insight_words(groups: Sequence[Group], passes: int, fewest: int) -> str:
    """Return the finding in a sentence or two."""
    costly = [group for group in groups if group.costs]
    if costly:
        sentences = (group_words(group, costliest=group is costly[0])["says"] for group in costly)
        return " ".join(filter(None, sentences))
    if all(group.interval is None for group in groups):
        return (
            f"{counted(passes, 'pass')} graded so far: {fewest} of a kind are needed before anything is said."
        )
    return "No kind of pass is known to cost you more than the rest."


def repeats_words(due: int, waiting: int) -> str:
    """Say how many passes wait to be played again."""
    if not due + waiting:
        return "No pass is on the list of those to play again."
    return f"{due:,} due now of {due + waiting:,} on your list of passes to play again."
