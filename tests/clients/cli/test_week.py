"""A week of a player with two habits: what is planted is found, nothing else; what lost much comes back."""

import json
from datetime import timedelta
from pathlib import Path

import pytest

from clients.cli.service import Service
from tests.benchmarks.week import MONDAY, PLANTED, Player, costly


@pytest.mark.long
def test_a_week(tmp_path: Path) -> None:
    log = tmp_path / "week.jsonl"
    with Service(None) as service:
        player = Player(service, "small", 1, log)
        days = list(player.week(laps=4))
        told = player.told(MONDAY + timedelta(days=7))
    # The hands of pairs on this card are of one family: who breaks pairs gives it up.
    assert PLANTED <= costly(told) <= PLANTED | {("direction", "mill pond")}
    assert told["passes"] == 28 * 6 + sum(day["due"] for day in days)
    # The list grows, and most of it has been put off by the end of the week.
    listed = [day["listed"] for day in days]
    assert listed[0] == 0 and listed == sorted(listed)
    assert 0 < days[-1]["due"] < listed[-1] / 2
    again = [json.loads(line) for line in log.read_text().splitlines()]
    single = [entry for entry in again if "seen" in entry["record"]]
    assert len(single) == sum(day["due"] for day in days)
    # She has learned them: what is dealt again is what lost much before, and it is passed well.
    assert all(entry["result"]["share_within_resolution"] == 1 for entry in single)
