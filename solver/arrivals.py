"""Arrivals: how many tiles are still expected to come, and from where."""

from __future__ import annotations

from dataclasses import dataclass, replace

from solver.rounds import PASS_SIZE, Drill, Round


class _Possibilities:
    """What arrivals of one length of play and of several have in common."""

    @property
    def parts(self) -> tuple[tuple[float, Arrivals], ...]:
        """Each possibility with its share; the shares sum to 1."""
        raise NotImplementedError

    @property
    def most(self) -> int:
        """Tiles to come in all when play lasts longest."""
        return max(each.charleston + each.draws + each.claims for _, each in self.parts)

    @property
    def mean_draws(self) -> float:
        """Draws on average."""
        return sum(share * each.draws for share, each in self.parts)

    @property
    def mean_claims(self) -> float:
        """Claims on average."""
        return sum(share * each.claims for share, each in self.parts)


@dataclass(frozen=True)
class Arrivals(_Possibilities):
    """Numbers of tiles still to come, each 0 or more.

    Attributes:
        charleston: Tiles from exchanges still to come; never jokers.
        draws: Tiles drawn from the wall; jokers are possible.
        claims: Discards of others that could be claimed; never jokers, and of use only to groups of
            three or more of a hand that is not concealed.
    """

    charleston: int
    draws: int
    claims: int

    @property
    def parts(self) -> tuple[tuple[float, Arrivals], ...]:
        """The one possibility there is."""
        return ((1.0, self),)

    def after(self, charleston: int) -> Arrivals:
        """Return the same draws and claims with so many tiles from exchanges."""
        return replace(self, charleston=charleston)

    def without_claims(self) -> Arrivals:
        """Return the same, nothing to claim."""
        return replace(self, claims=0)

    def scaled(self, share: float, room: int) -> Arrivals:
        """Return draws and claims times a share, rounded, as far as there is room after the exchanges."""
        draws = min(round(self.draws * share), room - self.charleston)
        claims = min(round(self.claims * share), room - self.charleston - draws)
        return replace(self, draws=draws, claims=claims)


@dataclass(frozen=True)
class Length:
    """One length that play may have, and its share among all lengths."""

    draws: int
    claims: int
    share: float


@dataclass(frozen=True)
class MixedArrivals(_Possibilities):
    """Arrivals when nobody knows how long play will last.

    Attributes:
        charleston: As in `Arrivals`.
        lengths: Lengths of play; their shares sum to 1.
    """

    charleston: int
    lengths: tuple[Length, ...]

    @property
    def parts(self) -> tuple[tuple[float, Arrivals], ...]:
        """Each length with its share."""
        return tuple(
            (each.share, Arrivals(self.charleston, each.draws, each.claims)) for each in self.lengths
        )

    def after(self, charleston: int) -> MixedArrivals:
        """Return the same lengths with so many tiles from exchanges."""
        return replace(self, charleston=charleston)

    def without_claims(self) -> MixedArrivals:
        """Return the same, nothing to claim."""
        return replace(self, lengths=tuple(replace(each, claims=0) for each in self.lengths))

    def scaled(self, share: float, room: int) -> MixedArrivals:
        """Return every length times a share, as `Arrivals.scaled`."""
        scaled = [(part, each.scaled(share, room)) for part, each in self.parts]
        return replace(self, lengths=tuple(Length(each.draws, each.claims, part) for part, each in scaled))


Coming = Arrivals | MixedArrivals

# How long play lasts, as draws and claims of one player, and how often. Nobody knows how long a game will
# last, and one number in place of several predicts too much for good racks and too little for poor ones.
# Provenance: simulated tables of one advised and three careful players (604 games, seed 1101, full card): the
# two lengths under which the outcomes of half of them were likeliest, shares rounded, judged on other games
# (tests/benchmarks/RESULTS.md). Shorter than play is: hands share tiles, and their chances are put together
# as if they did not.
LENGTHS = (Length(12, 8, 0.8), Length(24, 0, 0.2))

# What the exchanges after this one are worth, in tiles that come for nothing. Fewer than will come: each
# costs tiles of one's own, and others pass what is of little use. Provenance: with these the mean chance of
# some hand predicted after each round is nearest to the share of players who completed one (368 of 736 games
# of the same sort of tables, seed 1101, the second Charleston always played).
LATER_EXCHANGES = {
    Round.FIRST_RIGHT: 6,
    Round.FIRST_ACROSS: 4,
    Round.FIRST_LEFT: 3,
    Round.SECOND_LEFT: 2,
    Round.SECOND_ACROSS: 0,
    Round.SECOND_RIGHT: 0,
    Round.COURTESY: 0,
}

# The same for a player who goes for one target alone and gives up nothing of it. The lengths above make
# passes good and the chance of some hand true, hands taken to be independent; hands share tiles, so they
# come out short for one hand. What comes in now is not worth its number either: others pass what is of
# little use.
# Provenance: simulated tables of one player who goes for one target alone and three careful ones (680 games,
# seed 1701, full card; tests/benchmarks/RESULTS.md): the likeliest length, then the numbers that bring the
# mean prediction nearest to what came true, none greater than one before it.
LENGTHS_ALONE = (Length(24, 8, 1.0),)
LATER_EXCHANGES_ALONE = {
    Round.FIRST_RIGHT: 6,
    Round.FIRST_ACROSS: 4,
    Round.FIRST_LEFT: 3,
    Round.SECOND_LEFT: 3,
    Round.SECOND_ACROSS: 1,
    Round.SECOND_RIGHT: -1,
    Round.COURTESY: -3,
}


def after_the_exchanges() -> MixedArrivals:
    """Return what is to come once all exchanges are over, when a question names nothing else."""
    return MixedArrivals(0, LENGTHS)


def default_arrivals(round_: Round, give: int) -> MixedArrivals:
    """Return the arrivals assumed when a question names none.

    Args:
        round_: The round being played.
        give: Own tiles given now (0-3); as many come in now.
    """
    return MixedArrivals(give + LATER_EXCHANGES[round_], LENGTHS)


def arrivals_alone(round_: Round | None, give: int) -> MixedArrivals:
    """Return what comes to a player who goes for one target alone.

    Args:
        round_: The round being played, or None when the exchanges are over.
        give: Own tiles given now (0-3).
    """
    exchanges = 0 if round_ is None else max(0, give + LATER_EXCHANGES_ALONE[round_])
    return MixedArrivals(exchanges, LENGTHS_ALONE)


def drill_arrivals(drill: Drill, give: int) -> Arrivals:
    """Return what comes in a drill: the heap's tiles only, none of them a joker, nothing to claim.

    Args:
        drill: What it still has to come.
        give: Own tiles given now (0-3), so as many come in now.
    """
    later = PASS_SIZE * (drill.exchanges_left - 1)
    return Arrivals(charleston=give + later, draws=drill.then_draws, claims=0)
