"""Bad input in great numbers: no 500, no case of more than a second, memory under a cap.

Run: python -m tests.benchmarks.fuzz --cases 100000 --seed 1
Each case is asked of the whole service in this process: JSON, shapes, parsers, a solve.
A case is too slow when it takes over --most-seconds both by the clock and of processor time (others may be
using the machine); one that does not end within a minute is written out and ends the run.
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
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from api.service import Service
from api.settings import Settings
from tests.benchmarks.cases import MAKERS, made_up

_HANGS = 60.0


@dataclass
class Found:
    """What a run has seen."""

    statuses: Counter[str] = field(default_factory=Counter)
    failures: Counter[str] = field(default_factory=Counter)
    slowest: float = 0.0
    slowest_path: str = ""


def peak_mib() -> float:
    """Return the most memory this process ever kept."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def run(wanted: argparse.Namespace, out: Path) -> Found:
    """Ask about all cases one after another."""
    service = Service(Settings(threads=1))
    chance, found = random.Random(wanted.seed), Found()
    kinds, current = list(MAKERS), out / "current.jsonl"
    for number in range(wanted.cases):
        kind = kinds[number % len(kinds)]
        case = made_up(chance, kind)
        current.write_text(case.written)
        faulthandler.dump_traceback_later(_HANGS, exit=True)
        begun, processor = time.perf_counter(), time.process_time()
        reply = service.answer("POST", case.path, case.body)
        spent = min(time.perf_counter() - begun, time.process_time() - processor)
        faulthandler.cancel_dump_traceback_later()
        fault = "slow" if spent > wanted.most_seconds else None
        if reply.status >= 500:
            fault = f"status-{reply.status}"
        found.statuses[f"{kind} {reply.status}"] += 1
        if spent > found.slowest:
            found.slowest, found.slowest_path = spent, case.path
        if fault is not None:
            found.failures[fault] += 1
            (out / f"{number}-{fault}.jsonl").write_text(case.written)
        if number % 5000 == 4999:
            print(f"{number + 1} cases, {dict(found.failures)}, {peak_mib():.0f} MiB", file=sys.stderr)
    current.unlink()
    return found


def main() -> int:
    """Run, and say what was run and seen."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--cases", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--most-seconds", type=float, default=1.0)
    parser.add_argument("--most-mib", type=float, default=700.0)
    parser.add_argument("--out", type=Path, help="folder for failures; by default a new one")
    wanted = parser.parse_args()
    out = wanted.out or Path(tempfile.mkdtemp(prefix="threepass-fuzz-"))
    out.mkdir(parents=True, exist_ok=True)
    begun = time.perf_counter()
    found = run(wanted, out)
    if peak_mib() > wanted.most_mib:
        found.failures["memory"] += 1
    told = {
        "cases": wanted.cases,
        "seed": wanted.seed,
        "statuses": dict(sorted(found.statuses.items())),
        "slowest_s": round(found.slowest, 3),
        "slowest_path": found.slowest_path,
        "peak_mib": round(peak_mib(), 1),
        "minutes": round((time.perf_counter() - begun) / 60, 1),
        "failures": dict(found.failures),
        "written_to": str(out) if found.failures else None,
    }
    print(json.dumps(told, indent=2))
    return 1 if found.failures else 0


if __name__ == "__main__":
    sys.exit(main())
