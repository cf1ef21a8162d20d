"""The examples for programs that ask: what they print is what the service says."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

from tests.clients.conftest import Ask
from tests.clients.laps import impossible, lap

EXAMPLES = Path(__file__).parents[2] / "clients/python/examples"


def ran(name: str, *arguments: str) -> list[str]:
    command = [sys.executable, str(EXAMPLES / name), *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout.splitlines()


def text_of(record: dict[str, Any]) -> str:
    """Return a record as the text that a person writes."""
    lines = [f"card: {record['card']}", f"rack: {record['rack']}"]
    for each in record["exchanges"]:
        blind = f" +{each['blind']}" if each["blind"] else ""
        lines.append(f"{each['round'].partition('_')[2]}: {each['given']}{blind} > {each['received']}")
    return "\n".join(lines) + "\n"


def test_a_folder_of_records_is_reviewed(server: str, tmp_path: Path, ask: Ask) -> None:
    kept = lap()
    poor = lap()
    poor["exchanges"][0] = {**poor["exchanges"][0], "given": "F F 5c"}
    poor["exchanges"][1] = {**poor["exchanges"][1], "given": "4c 5c 6c"}
    poor["exchanges"][2] = {**poor["exchanges"][2], "given": "4b 5b"}
    for name, record in (("tuesday", poor), ("monday", kept), ("broken", impossible())):
        (tmp_path / f"{name}.txt").write_text(text_of(record), encoding="utf-8")
    reviews = [json.loads(ask("/v1/reviews", {"records": [each]}))["reviews"][0] for each in (kept, poor)]
    better, worse = (review["share"] for review in reviews)
    assert better < worse
    *faults, mean = [line for line in ran("review_folder.py", str(tmp_path), server) if "  " not in line]
    *faults, first, second = faults
    assert len(faults) == 2 and all(line.startswith("broken.txt: ") for line in faults)
    assert first.startswith(f"monday 1: {better:.1%} lost, most of it ")
    assert second.startswith(f"tuesday 1: {worse:.1%} lost, most of it ")
    assert mean == f"2 reviewed, {(better + worse) / 2:.1%} lost on average"


def test_it_deals_until_a_pair_is_taken_apart(server: str, ask: Ask) -> None:
    told, passed = ran("deal_until.py", "3", server)
    index = int(told.split()[1])
    wish = {"seed": 3, "count": index + 1, "card": "small", "answers": True, "budget": index + 1}
    deals = json.loads(ask("/v1/deals", wish))["deals"]
    apart = [any(d["rack"].count(t) == 2 and d["pass"].count(t) == 1 for t in d["pass"]) for d in deals]
    assert apart == [False] * index + [True]
    assert told == f"deal {index} of seed 3: {' '.join(deals[index]['rack'])}"
    assert passed == f"best pass: {' '.join(deals[index]['pass'])}"


def test_they_are_typed() -> None:
    files = sorted(EXAMPLES.glob("*.py"))
    checked = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", *files],
        capture_output=True,
        text=True,
        cwd=EXAMPLES.parent,
    )
    assert files and checked.returncode == 0, checked.stdout
