"""The command in this process or in one of its own, the service it should agree with, and what it is fed."""

import json
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from clients.cli import output, practice
from clients.cli.main import cli
from clients.cli.service import Reply, Service
from tests.benchmarks.serving import HOST, free_port, serving
from tests.clients.laps import RACK
from tests.clients.typist import Clock, Step, Typist, first_passes

# What fixtures give: the command to run, the service to ask, a sheet to make, laps to play, and so on.
Run = Callable[..., Result]
Ask = Callable[..., bytes]
Make = Callable[..., tuple[Result, dict[str, bytes]]]
Play = Callable[..., Result]
Posting = Callable[..., list[tuple[str, Any]]]
Deals = Callable[..., dict[str, Any]]
Steps = Callable[..., list[Step]]
SEED = 11
OWN_CARD = Path(__file__).parents[1] / "own_card.toml"


@pytest.fixture(autouse=True)
def _untold(monkeypatch: pytest.MonkeyPatch) -> None:
    """Work of any length counts as quick here: how long it takes on this machine is no matter of a test."""
    monkeypatch.setattr(output, "_WORTH_TELLING", float("inf"))


@pytest.fixture
def rack() -> str:
    return RACK


@pytest.fixture
def run() -> Callable[..., Result]:
    """Run the command in this process, on the real service in this process."""

    def invoke(*arguments: str, stdin: Any = None) -> Result:
        return CliRunner().invoke(cli, arguments, input=stdin)

    return invoke


@pytest.fixture(scope="session")
def command() -> str:
    """The installed command, for tests that need a process of its own."""
    return str(Path(sys.executable).parent / "threepass")


@pytest.fixture(scope="session")
def ask() -> Iterator[Callable[..., bytes]]:
    """The service itself: the body it gives for a path and, to post, a body; the question must be right."""
    with Service(None) as service:

        def asked(path: str, body: Any = None) -> bytes:
            reply = service.ask(path, None if body is None else json.dumps(body).encode())
            assert reply.ok, reply.body
            return reply.body

        yield asked


@pytest.fixture
def card_file(tmp_path: Path) -> Path:
    """A card of a person's own, without faults; its hands come from the rules that the README states."""
    path = tmp_path / "my-card.toml"
    path.write_bytes(OWN_CARD.read_bytes())
    return path


@pytest.fixture
def nowhere() -> str:
    return f"http://127.0.0.1:{free_port()}"


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The base URL of a real `threepass serve` on a free port of the loopback."""
    with serving(tmp_path_factory.mktemp("server") / "log") as served:
        yield f"http://{HOST}:{served.port}"


@pytest.fixture
def posting(monkeypatch: pytest.MonkeyPatch) -> Callable[..., list[tuple[str, Any]]]:
    """Let another answer what is posted: each call gets the path, the body, and the real way to post.

    What is returned is filled with the path and the parsed body of every request posted from now on.
    """

    def install(answer: Callable[[str, bytes, Callable[[], Reply]], Reply] | None = None) -> list[Any]:
        ask, asked = Service.ask, list[tuple[str, Any]]()

        def posted(service: Service, path: str, body: bytes | None = None) -> Reply:
            if body is None:
                return ask(service, path)
            asked.append((path, json.loads(body) if body[:1] == b"{" else body))
            real = partial(ask, service, path, body)
            return real() if answer is None else answer(path, body, real)

        monkeypatch.setattr(Service, "ask", posted)
        return asked

    return install


@pytest.fixture
def stop_after(posting: Callable[..., list[Any]]) -> Callable[[int], None]:
    """Return what lets this many requests be answered and interrupts the next."""

    def stop(most: int) -> None:
        left = iter(range(most))

        def answer(_path: str, _body: bytes, real: Callable[[], Reply]) -> Reply:
            if next(left, None) is None:
                raise KeyboardInterrupt
            return real()

        posting(answer)

    return stop


@pytest.fixture
def foreign(posting: Callable[..., list[Any]]) -> Callable[[bytes], None]:
    """Let every request that is posted be answered by this body, with success."""
    return lambda body: (posting(lambda *_: Reply(200, body)), None)[1]


@pytest.fixture
def make(run: Callable[..., Result], tmp_path: Path) -> Callable[..., tuple[Result, dict[str, bytes]]]:
    """Make a sheet of the small card, and return how it went and the files by name."""

    def call(*arguments: str, out: str = "out", stdin: Any = None) -> tuple[Result, dict[str, bytes]]:
        folder = tmp_path / out
        result = run("sheet", "--card", "small", "--out", str(folder), *arguments, stdin=stdin)
        files = {path.name: path.read_bytes() for path in folder.iterdir()} if folder.is_dir() else {}
        return result, files

    return call


@pytest.fixture
def deal_of(ask: Callable[..., bytes]) -> Callable[..., dict[str, Any]]:
    def found(index: int = 0, rounds: int = 3, seed: int = SEED) -> dict[str, Any]:
        drill = {"exchanges_left": rounds}
        wish = {"seed": seed, "start": index, "card": "small", "drill": drill, "heap": True}
        deal: dict[str, Any] = json.loads(ask("/v1/deals", wish))["deals"][0]
        return deal

    return found


@pytest.fixture
def steps_of(deal_of: Callable[..., dict[str, Any]]) -> Callable[..., list[Step]]:
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
def play(log: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Result]:
    """Run ``practice`` on the small card with a typist; more options may be given."""

    def practiced(steps: Iterable[Step], *options: str, where: Path | None = log) -> Result:
        clock = Clock()
        monkeypatch.setattr(practice, "monotonic", clock)
        to = [] if where is None else ["--log", str(where)]
        arguments = ["practice", "--card", "small", "--seed", str(SEED), *to, *options]
        return CliRunner().invoke(cli, arguments, input=Typist(clock, steps))

    return practiced
