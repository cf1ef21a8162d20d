"""Questions about one rack: ``threepass advise``, ``vote`` and ``plan``."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import Any, BinaryIO

import click

from api.service import Sort
from clients.cli import options as shared
from clients.cli.options import filled, question_of
from clients.cli.output import (
    Exit,
    Progress,
    assumed,
    entry,
    hand_lines,
    in_groups,
    labeled,
    lines_in,
    odds_lines,
    page,
    paragraph,
    section,
    table,
    write_bytes,
)
from clients.cli.service import Answer, Reply, Service, decoded, encoded, show_answer

# A request of advice has none of these.
_OF_A_BATCH = {"id", "path", "body"}
_HOW_TO_ADVISE = f"""
RACK is 13 or 14 tiles: digits and b, c or d for bams, craks and dots; N E W S; green red white; F for a
flower, J for a joker. Spaces are free: "455c 18d 2b N E F F J white green 9b".

RACK "-" reads JSON Lines from stdin, each a rack as a JSON text or a request object, and writes one answer a
line in the same order. Options fill what a line leaves out. A line {{"id": 7, "path": "/v1/plans",
"body": ...}} asks any operation, as a line of POST /v1/batches does, and gets its id back.

{shared.EXIT_CODES.replace("5 not", "4 some lines failed, 5 not")}
"""
_HOW_TO_VOTE = f"""
RACK is the rack after the first left pass. The first Charleston is compulsory; any one player may stop the
second, and no reason is owed. So the question is whether you should stop it, not what the others want: going
on takes all four. A courtesy pass may follow either way.

What stopping is worth is known; going on is played with tiles drawn as readily as others pass them, the
best pass each time, until it is clear which is better or the samples end.

{shared.EXIT_CODES}
"""
_HOW_TO_PLAN = f"""
The plan takes what comes in to be of no use: it is the order in which to let your own tiles go. A pass of the
second Charleston is in it only if nobody stops it.

{shared.EXIT_CODES}
"""

_question = shared.together(
    shared.round_,
    shared.card,
    shared.give,
    shared.drill,
    shared.arrivals,
    shared.seen,
    shared.hands_that_count(*Sort),
)


@click.command(
    cls=shared.PassCommand, epilog=_HOW_TO_ADVISE, short_help="Which tiles to pass, and what that keeps."
)
@shared.rack
@_question
@shared.whole("--alternatives", "How many runner-up passes to name.")
@shared.whole("--hands", "How many hands kept and given up to list.")
@click.option("--gives-away", is_flag=True, help="Say how much the pass helps whoever gets it.")
@click.option("--why", is_flag=True, help="Say what each tile would cost instead, and what would change it.")
@click.option("--mine", metavar="TILES", help='A pass of your own, to be held against the best: "2b 1d W".')
@shared.as_json
@shared.server
def advise(rack: tuple[str, ...], as_json: bool, service: Service, **options: Any) -> int:
    """Say which tiles to pass from RACK, and what that keeps and gives up."""
    question = question_of(options)
    if rack == ("-",):
        return answer_lines(sys.stdin.buffer, question, service)
    asked = {"rack": " ".join(rack), **_with_a_round(question)}
    show_answer("/v1/advice", asked, as_json, service, advice_text)
    return Exit.ANSWERED


@click.command(epilog=_HOW_TO_VOTE, short_help="Should you stop the second Charleston?")
@shared.rack
@shared.card
@shared.seen
@shared.whole("--courtesy", "Tiles you expect to exchange at the courtesy pass.")
@shared.whole("--samples", "Most samples to take.")
@shared.same_samples
@shared.draws
@shared.claims
@shared.hands_that_count()
@shared.as_json
@shared.server
def vote(rack: tuple[str, ...], as_json: bool, service: Service, **options: Any) -> None:
    """Say whether you should stop the second Charleston with RACK, and how sure that is."""
    if (options["draws"] is None) != (options["claims"] is None):
        raise click.UsageError("--draws and --claims go together: give both or none")
    # The exchanges of either way are played out: the service counts no others.
    charleston = None if options["draws"] is None else 0
    asked = {"rack": " ".join(rack), **question_of({**options, "charleston": charleston})}
    show_answer("/v1/votes", asked, as_json, service, vote_text)


@click.command(
    cls=shared.PassCommand, epilog=_HOW_TO_PLAN, short_help="What goes now, and what in the next rounds."
)
@shared.rack
@shared.whole("--rounds", "Rounds to plan, this one included.")
@_question
@shared.as_json
@shared.server
def plan(rack: tuple[str, ...], as_json: bool, service: Service, **options: Any) -> None:
    """Say which tiles of RACK go now, and which go in the rounds after that."""
    asked = {"rack": " ".join(rack), **_with_a_round(question_of(options))}
    show_answer("/v1/plans", asked, as_json, service, plan_text)


def _with_a_round(question: dict[str, Any]) -> dict[str, Any]:
    if "round" not in question:
        raise click.UsageError("Missing option '--round'.")
    return question


def answer_lines(stream: BinaryIO, options: Mapping[str, Any], service: Service) -> int:
    """Answer every line of a stream on stdout, each as soon as it is known, and return the exit code.

    A line is a request object, a JSON text (a rack), or faulty: then the service's own problem body is
    its answer, at the same place. A blank line is faulty too, so that the n-th answer is the n-th line's.
    """
    with Progress("line", "answered") as progress:
        for number, line in enumerate(lines_in(stream), 1):
            reply = _reply_to(number, line.rstrip(b"\r\n"), options, service)
            write_bytes(reply.on_one_line() + b"\n")
            progress.count(reply.ok)
    return progress.end()


def _reply_to(number: int, line: bytes, options: Mapping[str, Any], service: Service) -> Reply:
    """Return the answer to a line; that to a line of a batch with the status that its body has."""
    try:
        asked = decoded(line)
    except ValueError:
        asked = None
    if isinstance(asked, str):
        asked = {"rack": asked}
    if not isinstance(asked, dict):  # the service says what is wrong with it
        return service.ask("/v1/advice", line)
    if not asked.keys() & _OF_A_BATCH:
        return service.ask("/v1/advice", encoded(filled(asked, options)))
    if asked.get("path", "/v1/advice") == "/v1/advice" and isinstance(asked.get("body"), dict):
        line = encoded({**asked, "body": filled(asked["body"], options)})
    # Each line is a batch of its own, so that it is answered as it comes.
    reply = service.ask("/v1/batches", line)
    body = reply.body.replace(b'"line": 1,', b'"line": %d,' % number, 1).rstrip(b"\n")
    return Reply(reply.answer()["status"], body)


def advice_text(answer: Answer) -> str:
    """Return the page for an answer of ``POST /v1/advice``."""
    words, given = answer["words"], answer["gives_away"]
    return page(
        [
            [
                *labeled("Rack", in_groups(answer["rack"])),
                *labeled("Round", words["round"]),
                *labeled("Pass", in_groups(answer["pass"])),
                *labeled("", words["pass"]),
            ],
            [
                *labeled("Rack strength", words["strength"]),
                *labeled("", words["strength_note"]),
                *odds_lines(answer),
                *labeled("Proof", words["proof"]),
                *labeled("How close", words["closeness"]),
                *(labeled("Gives away", given["words"]) if given else []),
                *_runners_up(answer["alternatives"]),
            ],
            _mine(answer["mine"]),
            _by_number(answer["by_number"]),
            _kept(answer),
            _given_up(answer["given_up"]),
            _direction(answer["families"]),
            *(_keep(answer["keep"]) if answer["why"] is None else _why(answer["why"])),
            assumed(answer["assumptions"]),
        ]
    )


def _runners_up(alternatives: list[Answer]) -> list[str]:
    lines = []
    for index, other in enumerate(alternatives):
        label = ("Runners-up" if len(alternatives) > 1 else "Runner-up") if index == 0 else ""
        worth = f"{other['words']['strength']}, {other['words']['loss']}"
        lines += labeled(label, f"{in_groups(other['pass']):<22}{worth}")
    return lines


def _mine(mine: Answer | None) -> list[str]:
    if mine is None:
        return []
    said = [words for words in mine["words"].values() if words is not None]
    return [*labeled("Your pass", in_groups(mine["pass"])), *labeled("", " ".join(said))]


def _direction(families: list[Answer]) -> list[str]:
    rows = [[each["name"], each["words"]["before"], each["words"]["after"]] for each in families]
    shares = table(["Family", "Whole rack", "After"], rows, right=[1, 2])
    return section("Each family's share of rack strength", shares)


def _by_number(by_number: list[Answer]) -> list[str]:
    if len(by_number) < 2:
        return []
    rows = [
        [words["give"], words["strength"], words["loss"], in_groups(value["pass"])]
        for value in by_number
        for words in [value["words"]]
    ]
    numbers = table(["Your tiles", "Rack strength", "Compared", "Best tiles"], rows, right=[1])
    return section("Each number of your own tiles that may go", numbers)


def _kept(answer: Answer) -> list[str]:
    words = answer["words"]
    lines = paragraph(words["kept"], 0)
    if words["alone_note"] is not None:
        lines += paragraph(words["alone_note"])
    for hand in answer["hands"]:
        lines += ["", *hand_lines(hand)]
    return lines


def _given_up(given_up: list[Answer]) -> list[str]:
    lines = []
    for hand in given_up:
        words = hand["words"]
        change = f"from {words['from']} to {words['to']}"
        lines += entry(words["lost"], f"{hand['name']} ({hand['family']})", change)
    return section("Made less likely by the pass, what counts most first", lines)


def _keep(keep: list[Answer]) -> list[list[str]]:
    worth = ", ".join(f"{each['tile']} {each['words']['worth']}" for each in keep)
    cost = paragraph(worth) if keep else []
    return [section("What it would cost to pass each tile, the others chosen best", cost)]


def _why(why: Answer) -> list[list[str]]:
    rows = [
        [words["tile"], words["loss"], words["pass"] or "-"]
        for words in (cost["words"] for cost in why["costs"])
    ]
    costs = table(["Tile", "Cost", "Best pass with it"], rows)
    sensitivity = [line for one in why["sensitivity"] for line in paragraph(one["words"])]
    return [
        ["Why", *paragraph(" ".join(why["sentence"].split()))],
        section("What it costs to pass a tile, the others chosen best", costs),
        section("If fewer or more tiles come", sensitivity),
    ]


def vote_text(answer: Answer) -> str:
    """Return the page for an answer of ``POST /v1/votes``."""
    words = answer["words"]
    return page(
        [
            [*labeled("Verdict", words["verdict"]), *labeled("", words["rule"])],
            [
                "Rack strength",
                *paragraph(words["strength_note"]),
                *labeled("Stop", words["stop"]),
                *labeled("Go on", words["go_on"]),
                *labeled("Difference", words["difference"]),
                *labeled("Samples", words["samples"]),
            ],
            assumed(answer["assumptions"]),
        ]
    )


def plan_text(answer: Answer) -> str:
    """Return the page for an answer of ``POST /v1/plans``."""
    words = answer["words"]
    lines = []
    for each in answer["rounds"]:
        lines += labeled(each["words"]["round"], in_groups(each["pass"]))
        lines += labeled("", each["words"]["pass"])
        lines += labeled("", f"rack strength {each['words']['strength']}")
    note = [] if words["note"] is None else paragraph(words["note"])
    return page([lines, [*labeled("Proof", words["proof"]), *note, *paragraph(words["strength_note"])]])
