from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from starlette.testclient import TestClient

from api.app import create_app
from clients.cli.main import cli
from clients.cli.practice import practise
from tests.clients.practice.typist import Clock, Step, Typist, first_passes

SEED = 11
Deals = Callable[..., dict[str, Any]]
Play = Callable[..., Result]


@pytest.fixture(scope="session")
def api() -> Iterator[TestClient]:
    with TestClient(create_app()) as client:
        yield client


@pytest.fixture
def deal_of(api: TestClient) -> Deals:
    """The deal that a lap gets."""

    def ask(index: int = 0, rounds: int = 3, seed: int = SEED) -> dict[str, Any]:
        drill = {"exchanges_left": rounds}
        wish = {"seed": seed, "start": index, "card": "small", "drill": drill, "heap": True}
        answer = api.post("/v1/deals", json=wish).json()
        found: dict[str, Any] = answer["deals"][0]
        return found

    return ask


@pytest.fixture
def steps_of(deal_of: Deals) -> Callable[..., list[Step]]:
    """What to type to play one deal through in given seconds a round; getting ready takes a minute."""

    def steps(seconds: Sequence[float], index: int = 0) -> list[Step]:
        passes = first_passes(deal_of(index, len(seconds)), len(seconds))
        typed = [(time, " ".join(given) + "\n") for time, given in zip(seconds, passes, strict=True)]
        return [(60.0, "\n"), *typed]

    return steps


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return tmp_path / "laps.jsonl"


@pytest.fixture
def play(log: Path, monkeypatch: pytest.MonkeyPatch) -> Play:
    """Run ``practise`` on the small card with a typist; more options may be given."""

    def run(steps: Iterable[Step], *options: str, where: Path | None = log) -> Result:
        clock = Clock()
        monkeypatch.setattr(practise, "monotonic", clock)
        to = [] if where is None else ["--log", str(where)]
        arguments = ["practise", "--card", "small", "--seed", str(SEED), *to, *options]
        return CliRunner().invoke(cli, arguments, input=Typist(clock, steps))

    return run
