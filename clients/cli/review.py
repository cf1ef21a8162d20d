"""``threepass review``: how good was a recorded Charleston? And the averages over many of them."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import click

from api.service import Figures, session_of
from clients.cli import options as shared
from clients.cli.log import LOG_MARK
from clients.cli.output import (
    Exit,
    Progress,
    complain,
    content_of,
    hand_lines,
    labeled,
    odds_lines,
    page,
    paragraph,
    say,
    table,
    write_body,
    write_bytes,
)
from clients.cli.service import Answer, Reply, Service, encoded, object_in, show_answer

PATH = "/v1/reviews"
_ALONE = "records, item 1"
# Where a record as text has its rack; no line of JSON begins so.
_TEXT = re.compile(rb"(?mi)^\s*rack\s*:")
_NOT_JSON = "urn:threepass:problem:not-json"

_FORMS = """
FILE is text, a line a pass, as a person writes it down; rack first, what was given, a blind pass as +1, what
came in ("?" where it is not known, in the last pass) and the time:

\b
  rack: 4b 4b 4b 5b 3c 5c 3d 8d 9d N N E white F
  right: 3c 3d E > 1b 9b 3b 0:44
  across: 8d 9d white > N 8b 5b 0:41
  left: 8b 9b +1 > S W

Lines "card: NAME" and "drill: yes" may come before. Or FILE is JSON: one record, or {"records": [...]}; or
JSON Lines of many records; or a practice log. "-" is stdin. A record is {"rack", "exchanges": [{"round",
"given", "received", "blind", "seconds"}, ...], "card", "drill"}; blind, seconds, card and drill may be left
out. Blank lines and laps that were not finished are skipped. A lap is one Charleston, played through; a
target is one exact set of 14 tiles that makes a hand.

Each pass is compared with the best at that moment. "As good" says yes where the two cannot be told apart.
Hindsight, which knows what came in, is not graded. The pace is stated for a whole Charleston, of six passes
or more.

A record that cannot have happened is refused with every fault: exit code 1 for a record alone, or in its
place among others, and then exit code 4. With --json, JSON Lines are answered line by line, the service's
answer or its problem for each record, and the averages over all laps last.

Exit codes: 0 answered, 1 refused, 2 wrong usage, 3 no server reached, 4 some failed, 130 interrupted.
"""


@click.command(epilog=_FORMS, short_help="Grade recorded Charlestons, pass by pass.")
@click.argument("file")
@click.option(
    "--card", type=shared.card_of, metavar="NAME_OR_FILE", help="The card of records that name none."
)
@shared.objective
@shared.as_json
@shared.server
def review(
    file: str, card: str | dict[str, Any] | None, objective: str | None, as_json: bool, service: Service
) -> int:
    """Grade each pass of the Charlestons recorded in FILE, and average over them."""
    entries, by_line = written_in(content_of(file), card, objective)
    if not entries:
        complain("no laps to review")
    elif not entries[0][0]:
        show_answer(PATH, entries[0][1], as_json, service, reviews_text, _faults_of)
        return Exit.ANSWERED
    return _review_all(entries, by_line, service, as_json)


# The place of a record, such as ``line 3``, or nothing for one that is alone, and the request for it.
Entry = tuple[str, bytes]


def written_in(
    content: bytes, card: str | Mapping[str, Any] | None, objective: str | None = None
) -> tuple[list[Entry], bool]:
    """Read records, and return whether each stood on a line of its own.

    Card and objective are for those that name none. A content that is JSON is one document: a record, or an
    object with ``records``. With a line ``rack:`` it is records as text, for the service to read. Otherwise
    it is JSON Lines if any line of it is an object, and else a document that the service is left to refuse,
    as it is what is no record. Laps of a practice log that were not finished are told and left out.
    """
    said = {} if objective is None else {"objective": objective}

    def asked(record: Any, more: Mapping[str, Any] | None = None) -> bytes:
        if card is not None and isinstance(record, dict) and "card" not in record:
            record = {**record, "card": card}
        return encoded({**said, **(more or {}), "records": [record]})

    read = object_in(content)
    if read is None and _TEXT.search(content):
        text = {**said, "text": content.decode("utf-8", "replace")}
        return [("", encoded(text if card is None else {**text, "card": card}))], False
    if read is not None and LOG_MARK not in read:
        if "records" not in read:
            return [("", asked(read))], False
        records, more = read["records"], {name: value for name, value in read.items() if name != "records"}
        if not isinstance(records, list) or not records:
            return [("", encoded(read))], False
        return [(f"record {at}", asked(record, more)) for at, record in enumerate(records, 1)], False
    lines = [(f"line {place}", line) for place, line in enumerate(content.split(b"\n"), 1) if line.strip()]
    if lines and not any(line.startswith(b"{") and object_in(line) is not None for _, line in lines):
        return [("", content)], False
    entries, skipped = [], []
    for place, line in lines:
        read = object_in(line)
        if read is None:
            entries.append((place, line.strip()))
        elif LOG_MARK not in read:
            entries.append((place, asked(read)))
        elif read.get("finished", True) is True:
            entries.append((place, asked(read.get("record"))))
        else:
            skipped.append(place)
    if skipped:
        complain(f"skipped, as not finished: {', '.join(skipped)}")
    return entries, True


def _review_all(entries: Sequence[Entry], by_line: bool, service: Service, as_json: bool) -> int:
    """Have laps graded one by one and return the exit code. An interruption keeps those that are done.

    For people, and for JSON Lines, each is told as soon as it is known. The parts of one JSON document are
    told at the end, as one object in the shape of the service's answer, with problems in place of reviews.
    """
    figures: list[Figures] = []
    kept: list[Answer] = []
    with Progress("lap", "reviewed") as progress:
        for place, body in entries:
            reply = service.ask(PATH, body)
            answer = reply.read()
            if reply.ok:
                (told,) = answer["reviews"]
                figures.append(Figures.of_review(told))
                text = lap_text(told, f"Lap {len(figures)} ({place})")
            else:
                told = answer
                faults = [line for fault in _faults_of(reply) for line in paragraph(fault)]
                text = "\n".join([f"Refused ({place})", *faults])
            # Counted before it is told: whoever sees it told may interrupt at once.
            kept.append(told)
            progress.count(reply.ok)
            if not as_json:
                say(f"\n{text}" if progress.answered > 1 else text)
            elif by_line:
                write_bytes(reply.on_one_line() + b"\n")
    session = session_of(figures) if figures else None
    if as_json and by_line:
        write_bytes(encoded({"session": session}) + b"\n")
    elif as_json:
        write_body(encoded({"reviews": kept, "session": session}))
    elif session is not None and session["laps"] > 1:
        say("\n" + session_text(session))
    return progress.end()


def _faults_of(reply: Reply) -> list[str]:
    """Return one line a fault of a record that was sent alone, without naming it as the first."""
    what = "not JSON: " if reply.read().get("type") == _NOT_JSON else ""
    return [what + line.removeprefix(_ALONE).removeprefix(", ").removeprefix(": ") for line in reply.faults()]


def reviews_text(answer: Answer) -> str:
    """Return the page for an answer of ``POST /v1/reviews``: each lap, and averages over two or more."""
    laps = [lap_text(review, f"Lap {number}") for number, review in enumerate(answer["reviews"], 1)]
    session = answer["session"]
    return "\n\n".join([*laps, *([session_text(session)] if session["laps"] > 1 else [])])


def lap_text(review: Answer, title: str) -> str:
    """Return the page for one review."""
    words, likeliest = review["words"], review["hands"][:1]
    return page(
        [
            [title, *_passes(review["passes"])],
            [
                *labeled("Lost", words["lost"]),
                *labeled("Cost most", words["costliest"]),
                *labeled("Time", words["time"]),
                *labeled("At the end", words["end"]),
                *labeled("", words["strength_note"]),
                *odds_lines(review),
            ],
            ["Likeliest hand at the end", *hand_lines(likeliest[0])] if likeliest else [],
            _racks(review["passes"]),
            _hindsight(review["passes"]),
        ]
    )


def pass_text(graded: Answer) -> str:
    """Return the verdict on one pass: yours, the best, and what each keeps."""
    words = graded["words"]
    lines = [
        *labeled("You passed", words["passed"]),
        *labeled("Best", words["best"]),
        *labeled("Lost", f"{words['share']} ({words['lost']})"),
        *labeled("Why", graded["why"]),
    ]
    return "\n".join(lines + (labeled("Yours keeps", graded["keeps"]) if graded["keeps"] else []))


def session_text(session: Answer) -> str:
    """Return the page for the averages of a session."""
    words = session["words"]
    return "\n".join(
        [
            words["title"],
            *labeled("Time", words["time"]),
            *labeled("Lost", words["lost"]),
            *labeled("As good as best", words["as_good"]),
            *labeled("Tiles away", words["away"]),
        ]
    )


def _passes(passes: Sequence[Answer]) -> list[str]:
    rows = [
        [
            words["round"],
            _tiles(graded["given"], graded["blind"]),
            _tiles(graded["best"]["pass"], graded["best"]["blind"]),
            *(words[name] for name in ("lost", "share", "as_good", "time")),
        ]
        for graded in passes
        for words in [graded["words"]]
    ]
    return table(["Round", "You passed", "Best", "Lost", "Lost %", "As good", "Time"], rows, right=(3, 4, 6))


def _racks(passes: Sequence[Answer]) -> list[str]:
    lines = ["The rack at each pass: yours in round brackets, the best in square ones"]
    for graded in passes:
        yours: Counter[str] = Counter(graded["given"])
        best: Counter[str] = Counter(graded["best"]["pass"])
        marked = []
        for token in graded["rack"]:
            inner = f"[{token}]" if best[token] > 0 else token
            marked.append(f"({inner})" if yours[token] > 0 else inner)
            yours[token] -= 1
            best[token] -= 1
        lines += labeled(graded["words"]["round"], " ".join(marked))
    return lines


def _hindsight(passes: Sequence[Answer]) -> list[str]:
    rows = [
        [
            graded["words"]["round"],
            _tiles(graded["received"]),
            _tiles(known["pass"]),
            known["words"]["best_strength"],
            known["words"]["your_strength"],
        ]
        for graded in passes
        if (known := graded["hindsight"]) is not None
    ]
    head = ["Round", "Came in", "Best", "Worth", "Your pass"]
    return [
        "Hindsight (not graded): the best pass, had you known what came in",
        *table(head, rows, right=(3, 4)),
    ]


def _tiles(tokens: Sequence[str], blind: int = 0) -> str:
    parts = [" ".join(tokens)] if tokens else []
    return ", ".join([*parts, *([f"{blind} blind"] if blind else [])]) or "none"
