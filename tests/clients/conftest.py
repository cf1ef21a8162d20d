import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx2
import pytest
from click.testing import CliRunner, Result

from clients.cli.main import cli
from clients.cli.transport import Reply, Service

RACK = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"


@pytest.fixture
def rack() -> str:
    return RACK


@pytest.fixture
def run() -> Callable[..., Result]:
    """Run the command in this process, on the real service in this process."""

    def invoke(*arguments: str, stdin: str | bytes | None = None) -> Result:
        return CliRunner().invoke(cli, arguments, input=stdin)

    return invoke


@pytest.fixture(scope="session")
def command() -> str:
    """The installed command, for tests that need a process of its own."""
    return str(Path(sys.executable).parent / "threepass")


@pytest.fixture
def card_file(tmp_path: Path) -> Path:
    """A card of two hands, without faults."""
    path = tmp_path / "my-card.toml"
    path.write_text(
        """
[card]
name = "Two Of Mine"

[[hand]]
name = "Long Pier"
family = "piers"
groups = "flower*2 np*4 (n+1)p*4 (n+2)p*4"

[[hand]]
name = "Short Pier"
family = "piers"
groups = ["1p*4 2p*4 3p*4 flower*2", "7p*4 8p*4 9p*4 flower*2"]
concealed = true
weight = 2.0
""",
        encoding="utf-8",
    )
    return path


@pytest.fixture(scope="session")
def free_port() -> Callable[[], int]:
    def find() -> int:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            return int(probe.getsockname()[1])

    return find


@pytest.fixture(scope="session")
def server(
    command: str, free_port: Callable[[], int], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[str]:
    """The base URL of a real `threepass serve` on a free port of the loopback."""
    port = free_port()
    log = tmp_path_factory.mktemp("server") / "log"
    with log.open("wb") as output:
        process = subprocess.Popen(
            [command, "serve", "--port", str(port)], stdout=output, stderr=output, env={**os.environ}
        )
        url = f"http://127.0.0.1:{port}"
        try:
            _wait_for(url, process, log)
            yield url
        finally:
            process.terminate()
            process.wait(timeout=60)


def _wait_for(url: str, process: "subprocess.Popen[bytes]", log: Path) -> None:
    for _ in range(600):
        if process.poll() is not None:
            break
        try:
            if httpx2.get(f"{url}/livez", trust_env=False).status_code == 200:
                return
        except httpx2.TransportError:
            time.sleep(0.1)
    pytest.fail(f"the server did not start: {log.read_text()}")


@pytest.fixture
def stop_after(monkeypatch: pytest.MonkeyPatch) -> Callable[[int], None]:
    """Return what lets so many requests be answered and interrupts the next."""
    post, asked = Service.post, []

    def stop(most: int) -> None:
        def counted(service: Service, path: str, body: bytes) -> Reply:
            asked.append(path)
            if len(asked) > most:
                raise KeyboardInterrupt
            return post(service, path, body)

        monkeypatch.setattr(Service, "post", counted)

    return stop
