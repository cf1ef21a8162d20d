"""``threepass cards``: the cards there are, what is on one, whether a file is one, its odds from games."""

from __future__ import annotations

import hashlib
from pathlib import Path
from urllib.parse import quote

import click

from api.service import counted
from clients.cli import options as shared
from clients.cli.batch import Folder, alone_in, workers
from clients.cli.output import Exit, Failure, Progress, entry, labeled, page, paragraph, say, write_whole
from clients.cli.service import CARDS_FOLDER, Answer, Service, cards_folder, encoded, show_answer

_TERMS = (
    "A target is one exact set of 14 tiles that makes a hand: a hand with free suits or ranks has many. A "
    "family is the card's own grouping of its hands."
)
_GAMES, _MOST_GAMES, _AT_ONCE = 480, 1_200, 2
_HOW_TO_FIT = """
How far the odds can be believed is told by thirds of the games, each held back from a fit to the others. The
fit is written to NAME.fit.toml, beside the card NAME.toml: whoever names the card then uses it. The games are
kept in the folder NAME.fit; after an interruption the same command goes on, and with more --games it adds to
them. The fit is the same whatever --jobs says.

Exit codes: 0 made, 1 refused, 2 wrong usage, 3 no server reached, 5 a file could not be written, 130
interrupted.
"""


@click.group()
def cards() -> None:
    """List, show, check, add, remove and fit cards."""


@cards.command("list")
@shared.as_json
@shared.server
def list_(as_json: bool, service: Service) -> None:
    """List the cards the service has."""
    show_answer("/v1/cards", None, as_json, service, list_text)


@cards.command(epilog=_TERMS)
@click.argument("name")
@shared.as_json
@shared.server
def show(name: str, as_json: bool, service: Service) -> None:
    """Show the hands of the card NAME, with targets, traits and chance."""
    show_answer(f"/v1/cards/{quote(name, safe='')}", None, as_json, service, card_text)


@cards.command(epilog=_TERMS)
@click.argument("file")
@shared.as_json
@shared.server
def check(file: str, as_json: bool, service: Service) -> int:
    """Check the card FILE (TOML): every fault at once, or each hand's targets, traits and chance.

    Exit code 1 when there are faults.
    """
    card = shared.card_from(file)
    answer = show_answer(
        "/v1/cards/check", {"card": card}, as_json, service, lambda answer: check_text(answer, card["file"])
    )
    return Exit.ANSWERED if answer.get("ok") is True else Exit.REFUSED


folder_option = click.option(
    "--folder", type=click.Path(path_type=Path), help="Folder of your cards; by default in your data folder."
)


@cards.command(epilog=f"The folder can be set by {CARDS_FOLDER} too.")
@click.argument("file")
@click.option("--name", help="What commands and the page call it; by default the file's name without .toml.")
@folder_option
def add(file: str, name: str | None, folder: Path | None) -> None:
    """Put a copy of the card FILE (TOML) into your folder of cards.

    It must have no faults. From then on every command and the page know it by its name.
    """
    card = shared.card_from(file)
    name = name or Path(file).stem
    with Service(None) as service:
        found = service.ask("/v1/cards/check", encoded({"card": card})).answer()
        there_are = service.ask("/v1/cards").answer()["cards"]
    shipped = [each["name"] for each in there_are if each["source"] == "shipped"]
    if not found["ok"]:
        say(check_text(found, card["file"]))
        raise Failure(Exit.USAGE, f"{file} is not added: mend it first")
    if name in shipped or Path(name).name != name or name.startswith("."):
        raise Failure(Exit.USAGE, f"{name!r} cannot be its name: say another with --name")
    there = (folder or cards_folder()) / f"{name}.toml"
    new = "added" if not there.exists() else "replaced"
    there.parent.mkdir(parents=True, exist_ok=True)
    write_whole(there, card["toml"].encode())
    beside = there.with_name(f"{name}.fit.toml")
    if "fit" in card:
        write_whole(beside, card["fit"].encode())
    else:
        beside.unlink(missing_ok=True)
    say(f"{new}: {found['card']['title']}, {found['card']['words']['size']}. Its name is {name}.")


@cards.command()
@click.argument("name")
@folder_option
def remove(name: str, folder: Path | None) -> None:
    """Delete the card NAME from your folder of cards."""
    there = (folder or cards_folder()) / f"{name}.toml"
    if Path(name).name != name or not there.is_file():
        raise Failure(Exit.USAGE, f"there is no card {name!r} in {there.parent}")
    there.unlink()
    there.with_name(f"{name}.fit.toml").unlink(missing_ok=True)
    say(f"removed: {name}")


@cards.command(epilog=_HOW_TO_FIT, short_help="Measure the odds on a card of your own, in some minutes.")
@click.argument("file")
@shared.whole("--games", "Games to play.", 30, _MOST_GAMES, default=_GAMES)
@shared.whole("--jobs", "Processes to use.", 1, 256, default=1)
@shared.whole("--seed", "The same number plays the same games.", 0, default=0)
@shared.server
def fit(file: str, games: int, jobs: int, seed: int, service: Service) -> None:
    """Play simulated games with the card FILE (TOML), and write what they say of its odds beside it."""
    card = {name: text for name, text in shared.card_from(file).items() if name != "fit"}
    asked = {"card": card, "seed": seed}
    beside = Path(file.removesuffix(".toml") + ".fit")
    tasks = range(-(-games // _AT_ONCE))
    with alone_in(beside):
        folder = Folder(beside, hashlib.sha256(encoded([card["toml"], seed])).hexdigest())
        left = (
            (task, "/v1/fits/games", encoded({**asked, "start": task * _AT_ONCE, "count": _AT_ONCE}))
            for task in tasks
            if task not in folder.kept
        )
        progress = Progress("game", f"of {games:,} played", answers=False)
        asking = workers(service, jobs, None)
        with folder.going_on("game", _AT_ONCE, beside), progress, asking as answering:
            for task, reply in answering(left):
                folder.keep(task, {"games": reply.answer()["games"]})
                progress.count(True, _AT_ONCE)
        played = [game for task in tasks for game in folder.kept[task]["games"]][:games]
        made = service.ask("/v1/fits", encoded({**asked, "games": played})).answer()
        to = beside.with_name(beside.name + ".toml")
        write_whole(to, made["toml"].encode())
    say("\n".join([f"{to}: {counted(games, 'game')}", *made["words"]]))


def list_text(answer: Answer) -> str:
    """Return the page for ``GET /v1/cards``."""
    lines = []
    for card in answer["cards"]:
        own = ", from your folder" if card["source"] == "folder" else ""
        lines += labeled(card["name"], f"{card['title']}: {card['words']}{own}", 0, 10)
        lines += labeled("", ", ".join(card["families"]), 0, 10)
    lines += [f"left out: {says}" for says in answer["left_out"]]
    return "\n".join(lines) or "no cards"


def card_text(answer: Answer) -> str:
    """Return the page for ``GET /v1/cards/{name}``."""
    words = answer["words"]
    blocks = [
        [
            *paragraph(f"{answer['title']}: {words['size']}", 0),
            *paragraph(_TERMS, 0),
            *paragraph(words["note"], 0),
            *paragraph(words["odds"], 0),
        ]
    ]
    for family in answer["families"]:
        hands = [_hand(hand) for hand in answer["hands"] if hand["family"] == family]
        blocks.append([family, *(line for lines in hands for line in lines)])
    return page(blocks)


def check_text(answer: Answer, file: str) -> str:
    """Return the page for ``POST /v1/cards/check`` of a file of this name."""
    faults, remarks = answer["faults"], answer["remarks"]
    lines = [f"{file}: {counted(len(faults), 'fault') if faults else 'no faults'}"]
    for fault in faults:
        lines += paragraph(" ".join(fault["detail"].split()))
    noted = [
        line
        for remark in remarks
        for line in paragraph(f"hand {remark['hand'] + 1}: {' '.join(remark['detail'].split())}")
    ]
    blocks = [lines, ["Worth a second look", *noted] if noted else []]
    card = [] if answer["card"] is None else [card_text(answer["card"])]
    return page([*blocks, card])


def _hand(hand: Answer) -> list[str]:
    words = hand["words"]
    lines = entry(words["chance"], hand["name"], words["targets"])
    for index, groups in enumerate(hand["groups"]):
        where = f"  where {hand['where']}" if hand["where"] and index == len(hand["groups"]) - 1 else ""
        lines += labeled("or" if index else "", groups + where, 15, 3)
    return lines + (labeled("", words["facts"], 15, 3) if words["facts"] else [])
