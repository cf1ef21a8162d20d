"""Bad input in great numbers, made up from a seed: racks, cards and records, near to good ones or not.

Run: python -m tests.benchmarks.fuzz --cases 100000 --seed 1
Each case is asked of the whole service in this process: no 500, no case of more than a second, memory under
a cap. A case is too slow when it takes over a second both by the clock and of processor time (others
may be using the machine); one that does not end within a minute is written out and ends the run.
Failures are written to --out as lines of the corpus: what is fixed belongs in tests/api/corpus.jsonl.
One JSON object on stdout, progress on stderr; exit code 1 when anything failed.
"""

import argparse
import faulthandler
import json
import random
import resource
import sys
import tempfile
import time
from base64 import b64decode, b64encode
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from api.service import Service
from api.settings import Settings
from solver.rounds import Round

RACK = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"
ROUNDS = [each.value for each in Round]
TOML = """[card]
name = "Kitchen Table"
[[hand]]
name = "Copper Pans"
family = "shelves"
groups = "flower*4 np*3 (n+1)q*4 (n+3)r*3"
[[hand]]
name = "Open Window"
family = "weather"
groups = ["np*4 (n+5)q*4 north*3 flower*3", "np*4 (n+5)q*4 west*3 flower*3"]
where = "n odd"
concealed = true
weight = 1.5
"""
RECORD = {
    "card": "small",
    "rack": "4b 4b 4b 5b 3c 5c 3d 8d 9d N N E white F",
    "exchanges": [
        {"round": "first_right", "given": "3c 3d E", "received": "1b 9b 3b", "seconds": 44.5},
        {"round": "first_across", "given": "8d 9d white", "received": "N 8b 5b", "blind": 0},
    ],
}
# Letters of other alphabets, digits of other scripts, marks that join, reorder or hide, halves of pairs.
LOOK_ALIKES = list(
    "４ｂсＮЕſK𝟜٤४⁴ﬂßİı\u200d\u202e\ufeff\ufe0f\u0301\xa0\u3000\ud800\udfff\x00\x1b\u2028🀀🀪🀫\U0001f004"
)
RACK_WORDS = ["455c", "18d", "2b", "N", "E", "F", "J", "white", "green", "wh", "soap", "joker", "bam"]
RACK_WORDS += ["craks", "0b", "10c"]
GROUP_WORDS = ["flower*2", "np*4", "(n+1)p*4", "(n+99999999999)q*3", "5p*4", "dragon(p)*3", "wind1*2"]
GROUP_WORDS += ["wind2*2", "dragon*4", "np*9999999999999999999", "n", "*", "(", ")", "(" * 40, "white*3"]
GROUP_WORDS += ["bam*1", "0bam*4", "nr*1", "nq*2", "wind*3"]
WHERE = ["n odd", "n even", "n in 1..7", "n in 9..1", "n in 1..99999999999999999999", "n odd and n in 1..3"]
WHERE += ["(a+)+$", "n" * 250]
PATTERNS = [
    "(a+)+$",
    "a" * 3000,
    "{" * 500,
    "%s" * 50,
    "../../x",
    "' OR 1=1 --",
    "=1+1",
    "\\" * 99,
    "[" * 900,
]
PATTERNS += ["a." * 900]
NUMBERS: list[Any] = [0, -1, 1, 3, 14, 2**31, 2**63, -(2**63) - 1, 10**4000, 1e308, -0.0, 5e-324, 1e-7]
NUMBERS += [True, False, None]


@dataclass(frozen=True)
class Case:
    """A request: where it goes, its body as sent, and what it is called in the corpus."""

    path: str
    body: bytes
    name: str = "made up"

    @property
    def written(self) -> str:
        """The case as a line of the corpus: JSON, the body as text or, where it is none, in base64."""
        said = {"name": self.name, "path": self.path}
        try:
            return json.dumps({**said, "body": self.body.decode()})
        except UnicodeDecodeError:
            return json.dumps({**said, "base64": b64encode(self.body).decode()})

    @classmethod
    def read(cls, written: str) -> "Case":
        """Return the case that a line of the corpus has."""
        said = json.loads(written)
        body = said["body"].encode() if "body" in said else b64decode(said["base64"])
        return cls(said["path"], body, said["name"])


def _soup(chance: random.Random, words: list[str], most: int = 24) -> str:
    pool = words if chance.random() < 0.5 else [*words, *LOOK_ALIKES]
    separator = chance.choice([" ", " ", "", ",", "\n"])
    return separator.join(chance.choice(pool) for _ in range(chance.randint(0, most)))


def _edited(chance: random.Random, text: str) -> str:
    letters = list(text)
    for _ in range(chance.randint(1, 4)):
        at = chance.randint(0, len(letters))
        match chance.randrange(4):
            case 0:
                letters[at:at] = chance.choice([*LOOK_ALIKES, *PATTERNS, '"', "*", "]", "\n"])
            case 1:
                del letters[at : at + chance.randint(1, 5)]
            case 2:
                letters[at : at + 1] = chance.choice(LOOK_ALIKES)
            case _:
                letters[at:at] = letters[: chance.randint(0, 60)] * chance.randint(1, 3)
    return "".join(letters)


def _nested(depth: int, kind: str) -> Any:
    value: Any = kind
    for _ in range(depth):
        value = [value] if kind == "list" else {"hand": value}
    return value


def _junk(chance: random.Random) -> Any:
    makers: list[Callable[[], Any]] = [
        lambda: chance.choice(NUMBERS),
        lambda: chance.choice(PATTERNS),
        lambda: _nested(chance.choice([1, 20, 200, 800]), chance.choice(["list", "table"])),
        lambda: [_soup(chance, RACK_WORDS, 4) for _ in range(chance.choice([0, 1, 14, 400]))],
        lambda: {chance.choice(["name", "rack", "__class__", "", "hand"]): chance.choice(NUMBERS)},
        lambda: _soup(chance, [*RACK_WORDS, *GROUP_WORDS]),
    ]
    return makers[chance.randrange(6)]()


def _spoilt(chance: random.Random, value: Any) -> Any:
    """Return a JSON value with a part replaced, dropped or doubled."""
    if chance.random() < 0.15 or not isinstance(value, dict | list) or not value:
        return _edited(chance, value) if isinstance(value, str) and chance.random() < 0.6 else _junk(chance)
    if isinstance(value, list):
        at = chance.randrange(len(value))
        if chance.random() < 0.2:
            return value * chance.choice([2, 5, 30]) if chance.random() < 0.5 else value[:at]
        return [*value[:at], _spoilt(chance, value[at]), *value[at + 1 :]]
    key = chance.choice(list(value))
    if chance.random() < 0.1:
        return {name: part for name, part in value.items() if name != key}
    return {**value, key: _spoilt(chance, value[key])}


def _rack(chance: random.Random) -> tuple[str, Any]:
    rack: Any = chance.choice([_soup(chance, RACK_WORDS), _edited(chance, RACK), RACK.split(), RACK])
    body = {"rack": rack, "round": chance.choice(ROUNDS), "card": "small", "alternatives": 0}
    if chance.random() < 0.3:
        body["limits"] = {"stay": _soup(chance, RACK_WORDS, 3), "go": "1d", "no_pairs": True}
    if chance.random() < 0.2:
        body["arrivals"] = {"charleston": chance.choice([0, 9]), "draws": chance.choice([0, 15]), "claims": 3}
    return "/v1/advice", _spoilt(chance, body) if chance.random() < 0.5 else body


def _form(chance: random.Random) -> Any:
    def groups() -> str:
        return _soup(chance, GROUP_WORDS, 8)

    hands = [
        {
            "name": f"h{index}" if chance.random() < 0.9 else chance.choice(PATTERNS),
            "family": "f",
            "groups": groups() if chance.random() < 0.7 else [groups() for _ in range(chance.randint(0, 13))],
            **({"where": chance.choice(WHERE)} if chance.random() < 0.3 else {}),
        }
        for index in range(chance.choice([1, 1, 2, 5]))
    ]
    good = {
        "name": "good",
        "family": "f",
        "groups": "np*2 (n+1)q*2 (n+3)r*2 wind1*2 wind2*2 dragon1*2 dragon2*2",
    }
    return {"card": {"name": "c"}, "hand": [*hands, good] if chance.random() < 0.3 else hands or [good]}


def _card(chance: random.Random) -> tuple[str, Any]:
    written: Any
    match chance.randrange(4):
        case 0:
            written = {"toml": _edited(chance, TOML), "file": "my-card.toml"}
        case 1:
            lines = TOML.splitlines()
            chance.shuffle(lines)
            written = {"toml": "\n".join(lines[: chance.randint(0, len(lines))] * chance.choice([1, 3]))}
        case 2:
            written = _form(chance)
        case _:
            written = _spoilt(chance, _form(chance))
    if chance.random() < 0.15:
        return "/v1/advice", {"rack": RACK, "round": "first_right", "card": written, "alternatives": 0}
    return "/v1/cards/check", {"card": written}


def _record(chance: random.Random) -> tuple[str, Any]:
    record: Any = RECORD
    for _ in range(chance.choice([1, 1, 2, 3])):
        record = _spoilt(chance, record)
    return "/v1/reviews", {"records": [record]}


MAKERS: dict[str, Callable[[random.Random], tuple[str, Any]]] = {
    "rack": _rack,
    "card": _card,
    "record": _record,
}


def made_up(chance: random.Random, kind: str) -> Case:
    """Return a case of a kind: ``rack``, ``card`` or ``record``. One in ten is no good JSON either."""
    path, value = MAKERS[kind](chance)
    body = _dumped(value).encode("utf-8", "replace")
    if chance.random() < 0.1:
        at = chance.randint(0, len(body))
        some = [b"", b"\xff\xfe", b"[" * 2000, b'"', b"1" * 5000, bytes([chance.randrange(256)])]
        body = body[:at] + chance.choice(some) + body[at + chance.randint(0, 3) :]
    return Case(path, body)


def _dumped(value: Any) -> str:
    # Python writes no numbers of thousands of digits: they are put in afterwards.
    return json.dumps(value, default=str) if value != 10**4000 else "1" + "0" * 4000


_HANGS, _MOST_SECONDS, _MOST_MIB = 60.0, 1.0, 700.0


def peak_mib() -> float:
    """Return the most memory this process ever kept."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--cases", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--out", type=Path, help="folder for failures; by default a new one")
    wanted = parser.parse_args()
    out = wanted.out or Path(tempfile.mkdtemp(prefix="threepass-fuzz-"))
    out.mkdir(parents=True, exist_ok=True)
    service, chance = Service(Settings(threads=1)), random.Random(wanted.seed)
    statuses, failures, slowest = Counter[str](), Counter[str](), (0.0, "")
    for number in range(wanted.cases):
        kind = list(MAKERS)[number % len(MAKERS)]
        case = made_up(chance, kind)
        (out / "current.jsonl").write_text(case.written)
        faulthandler.dump_traceback_later(_HANGS, exit=True)
        begun, processor = time.perf_counter(), time.process_time()
        reply = service.answer("POST", case.path, case.body)
        spent = min(time.perf_counter() - begun, time.process_time() - processor)
        faulthandler.cancel_dump_traceback_later()
        statuses[f"{kind} {reply.status}"] += 1
        slowest = max(slowest, (spent, case.path))
        if reply.status >= 500 or spent > _MOST_SECONDS:
            fault = f"status-{reply.status}" if reply.status >= 500 else "slow"
            failures[fault] += 1
            (out / f"{number}-{fault}.jsonl").write_text(case.written)
        if number % 5000 == 4999:
            print(f"{number + 1} cases, {dict(failures)}, {peak_mib():.0f} MiB", file=sys.stderr)
    failures["memory"] += peak_mib() > _MOST_MIB
    told = {
        "cases": wanted.cases,
        "seed": wanted.seed,
        "statuses": dict(sorted(statuses.items())),
        "slowest": slowest,
        "peak_mib": round(peak_mib(), 1),
        "failures": dict(+failures),
        "written_to": str(out),
    }
    print(json.dumps(told, indent=2))
    return int(failures.total() > 0)


if __name__ == "__main__":
    sys.exit(main())
