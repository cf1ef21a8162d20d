"""The command as a whole: its help, its exit codes, and the server it starts."""

import json
import os
import socket
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path
from typing import Any

import pytest

import api.http.server
from clients.cli import main
from clients.cli.serve import PORT
from clients.cli.service import Service
from tests.benchmarks.serving import free_port, until
from tests.clients.conftest import Run


@pytest.mark.parametrize(
    "arguments",
    [(), *((name,) for name in main.cli.commands), *(("cards", name) for name in ("list", "show", "check"))],
)
def test_every_command_has_help(run: Run, arguments: tuple[str, ...]) -> None:
    result = run(*arguments, "--help")
    assert result.exit_code == 0
    assert result.stdout.startswith("Usage: ")
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_version(run: Run) -> None:
    assert run("--version").stdout.split()[-1] == version("threepass")


@pytest.mark.parametrize("arguments", [["--help"], ["advise", "--help"], ["progress", "--json"]])
def test_what_asks_no_service_loads_nothing_heavy(arguments: list[str], tmp_path: Path) -> None:
    code = (
        f"import sys\nfrom clients.cli.main import cli\ncli({arguments}, standalone_mode=False)\n"
        "heavy = {'httpx2', 'ortools', 'numpy', 'pydantic', 'asyncio', 'starlette'}\n"
        "assert not heavy & sys.modules.keys(), heavy & sys.modules.keys()"
    )
    home = {**os.environ, "XDG_DATA_HOME": str(tmp_path)}
    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, env=home
    )
    assert (result.returncode, result.stderr) == (0, "")


def test_an_interruption_has_its_own_code(run: Run, rack: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Service, "ask", interrupted)
    result = run("advise", rack, "--round", "courtesy")
    assert (result.exit_code, result.stdout) == (130, "")


def test_the_installed_command_ends_with_its_codes(command: str, rack: str) -> None:
    for arguments, code in [
        (("advise", rack, "--round", "courtesy", "--card", "small", "--give", "0"), 0),
        (("advise", "3x", "--round", "courtesy"), 1),
        (("advise", rack), 2),
    ]:
        result = subprocess.run([command, *arguments], capture_output=True, text=True, check=False)
        assert result.returncode == code, result.stderr
        assert "Traceback" not in result.stderr


def test_the_port_is_the_servers_own() -> None:
    assert api.http.server.PORT == PORT == 8347


def test_it_describes_the_service_and_serves_nothing(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(api.http.server, "serve", lambda *_: pytest.fail("served"))
    result = run("serve", "--describe")
    assert result.exit_code == 0
    description = json.loads(result.stdout)
    assert description["openapi"].startswith("3.")
    assert {"/v1/advice", "/v1/limits", "/v1/cards"} <= set(description["paths"])


@pytest.mark.parametrize(
    ("asked", "redirected", "code", "said"),
    [
        ("--help", ">/dev/full", 5, "standard output: No space left on device"),
        ("cards list --json", ">/dev/full", 5, "standard output: No space left on device"),
        ("deal --seed 1 --card small", ">&-", 5, "standard output: it is closed"),
        ("cards check -", "<&-", 2, "standard input: it is closed"),
        ("cards list", "<&-", 0, ""),
        ("cards show hats", "2>&-", 1, ""),
        ("cards list", ">/dev/full 2>/dev/full <&-", 5, ""),
    ],
)
def test_streams_that_are_full_or_closed(
    command: str, asked: str, redirected: str, code: int, said: str
) -> None:
    line = f"{command} {asked} {redirected}"
    result = subprocess.run(["sh", "-c", line], capture_output=True, text=True, check=False, timeout=60)
    assert (result.returncode, result.stderr) == (code, said and said + "\n")


def test_a_port_in_use_is_one_clear_line(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(api.http.server, "serve", lambda *_: pytest.fail("served"))
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        result = run("serve", "--port", str(port))
    assert (result.exit_code, result.stdout) == (2, "")
    (line,) = result.stderr.splitlines()
    assert f"port {port} is in use" in line
    assert f"--port {port + 1}" in line


def test_the_network_gets_an_address_a_code_and_a_caution(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[Any] = []
    monkeypatch.setattr(api.http.server, "serve", lambda *place: calls.append(place))
    port = free_port()
    result = run("serve", "--lan", "--port", str(port))
    assert result.exit_code == 0
    assert calls[0][:2] == ("0.0.0.0", port)
    assert f"The page is at http://127.0.0.1:{port}/" in result.stdout
    assert "a network that you trust" in " ".join(result.stdout.split())
    if "in no network" not in result.stdout:
        assert f":{port}/\n\n" in result.stdout
        # The code is made of half and whole blocks.
        assert result.stdout.count("\u2580") + result.stdout.count("\u2588") > 50


def test_a_person_is_told_in_plain_words_and_shown_the_page(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    from clients.cli import serve

    opened: list[str] = []
    monkeypatch.setattr(serve.webbrowser, "open", opened.append)
    monkeypatch.setattr(serve, "_somebody_reads", lambda: True)
    port = free_port()

    def listens(host: str, port: int, *_: object) -> None:
        with socket.create_server((host, port)) as there:
            there.settimeout(30)
            there.accept()[0].close()
            until(lambda: bool(opened), 5)

    monkeypatch.setattr(api.http.server, "serve", listens)
    result = run("serve", "--port", str(port))
    assert result.stdout == f"The page is at http://127.0.0.1:{port}/\nTo stop it, press Ctrl+C here.\n"
    assert opened == [f"http://127.0.0.1:{port}/"]
