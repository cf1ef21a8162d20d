"""``threepass cards fit``: plays games with a card, and writes what they say of its odds beside it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from api.service import counted
from clients.cli import options as shared
from clients.cli.batch import Folder, alone_in
from clients.cli.output import Exit, Progress, complain, say, write_whole
from clients.cli.service import Service, encoded
from clients.cli.workers import Task, workers

_GAMES, _MOST_GAMES, _AT_ONCE = 480, 1_200, 2
_HOW = """
Two games of three are fitted to; the third is held back and says how far the odds can be believed. The fit
is written to NAME.fit.toml, beside the card NAME.toml: whoever names the card then uses it. The games are
kept in the folder NAME.fit; after an interruption the same command goes on, and with more --games it adds to
them. The fit is the same whatever --jobs says.

Exit codes: 0 made, 1 refused, 2 wrong usage, 3 no server reached, 5 a file could not be written, 130
interrupted.
"""


@click.command(epilog=_HOW, short_help="Measure the odds on a card of your own, in some minutes.")
@click.argument("file")
@shared.whole("--games", "Games to play.", 30, _MOST_GAMES, default=_GAMES)
@shared.whole("--jobs", "Processes to use.", 1, 256, default=1)
@shared.whole("--seed", "The same number plays the same games.", 0, default=0)
@shared.server
@click.pass_context
def fit(context: click.Context, file: str, games: int, jobs: int, seed: int, server: str | None) -> None:
    """Play simulated games with the card FILE (TOML), and write what they say of its odds beside it."""
    card = {name: text for name, text in shared.card_from(file).items() if name != "fit"}
    asked = {"card": card, "seed": seed}
    beside = Path(file.removesuffix(".toml") + ".fit")
    digest = hashlib.sha256(encoded([card["toml"], seed])).hexdigest()
    with Service(server) as service, alone_in(beside):
        folder = Folder(beside, digest)
        try:
            _play(asked, games, folder, service, server, jobs)
        except KeyboardInterrupt:
            folder.read()
            kept = counted(_AT_ONCE * len(folder.kept), "game")
            complain(f"interrupted: {kept} kept in {beside}; the same command goes on from there")
            context.exit(Exit.INTERRUPTED)
        tasks = range(-(-games // _AT_ONCE))
        played = [game for task in tasks for game in folder.kept[task]["games"]][:games]
        made = service.post("/v1/fits", encoded({**asked, "games": played})).answer()
        to = beside.with_name(beside.name + ".toml")
        write_whole(to, made["toml"].encode())
    say("\n".join([f"{to}: {counted(games, 'game')}", *made["words"]]))


def _play(
    asked: dict[str, Any], games: int, folder: Folder, service: Service, server: str | None, jobs: int
) -> None:
    """Have the games played that the folder does not have yet."""
    if folder.kept:
        complain(f"going on: {counted(_AT_ONCE * len(folder.kept), 'game')} kept from before")
    progress = Progress("game", f"of {games:,} played", answers=False)

    def tasks() -> Iterator[Task]:
        for task in range(-(-games // _AT_ONCE)):
            if task not in folder.kept:
                body = {**asked, "start": task * _AT_ONCE, "count": _AT_ONCE}
                yield task, "/v1/fits/games", encoded(body)

    try:
        with workers(service, server, jobs, None) as answering:
            for task, reply in answering(tasks()):
                folder.keep(task, {"games": reply.answer()["games"]})
                progress.count(True, _AT_ONCE)
    finally:
        if progress.answered:
            progress.end()
