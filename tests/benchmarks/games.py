"""Finished games read back, and what their players knew at each pass."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from patterns.card_file import shipped_card
from patterns.rack import Pile
from patterns.tiles import Tile
from solver.rounds import Round
from solver.situation import still_elsewhere

# Reading a card takes as long as half a game.
card_of = cache(shipped_card)


@dataclass(frozen=True)
class Moment:
    """A player just after a pass, or when play begins.

    Attributes:
        shuffle: Number of the shuffle; four games share one.
        round: The pass just made, or None when the exchanges are over.
        kept: Tiles held, what comes in not yet among them.
        seen: Own passes that can still be elsewhere.
        coming: Tiles that come in now, for those just passed.
        won: Whether this player completed a hand.
        hand: Index of the hand completed, or None.
    """

    shuffle: int
    round: Round | None
    kept: Pile
    seen: tuple[Tile, ...]
    coming: int
    won: bool
    hand: int | None


def games_of(path: Path) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Return a file's header and its whole games in order of number."""
    lines = path.read_text(encoding="utf-8").split("\n")[:-1]
    games = [json.loads(line) for line in lines[1:]]
    return json.loads(lines[0]), sorted(games, key=lambda game: game["game"])


def moments_of(game: dict[str, Any], rule: str) -> Iterator[Moment]:
    """Yield every moment of the players of one rule."""
    for seat, name in enumerate(game["rules"]):
        if name != rule:
            continue
        shuffle, won = game["game"] // 4, game["winner"] == seat
        hand = game["hand"] if won else None
        passed: list[Tile] = []
        for who, round_, held, given in game["passes"]:
            if who != seat or not given:
                continue
            tiles, away = [Tile(text) for text in held], [Tile(text) for text in given]
            for tile in away:
                tiles.remove(tile)
            passed += away
            counts = {tile: tiles.count(tile) for tile in set(tiles)}
            seen = still_elsewhere(passed, counts)
            yield Moment(shuffle, Round(round_), Pile(tuple(tiles)), seen, len(away), won, hand)
        held, seen_texts = game["starts"][seat]
        start = Pile(tuple(Tile(text) for text in held))
        yield Moment(shuffle, None, start, tuple(Tile(text) for text in seen_texts), 0, won, hand)
