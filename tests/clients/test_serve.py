import socket
import subprocess
from collections.abc import Callable
from typing import Any

import httpx2
import pytest
from click.testing import Result

import api.server
from clients.cli.serve import PAGES

Run = Callable[..., Result]


def test_it_passes_on_where_to_listen(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[Any] = []
    monkeypatch.setattr(api.server, "serve", lambda *place: calls.append(place))
    assert run("serve").exit_code == 0
    assert run("serve", "--host", "::1", "--port", "9", "--workers", "3").exit_code == 0
    assert calls == [("127.0.0.1", 8333, 1, PAGES), ("::1", 9, 3, PAGES)]
    assert run("serve", "--port", "65536").exit_code == 2
    assert run("serve", "--workers", "0").exit_code == 2


def test_faulty_settings_are_wrong_usage(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("THREEPASS_THREADS", "many")
    result = run("serve")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "THREEPASS_THREADS" in result.stderr


def test_a_real_server_answers(server: str) -> None:
    for path in ("/livez", "/readyz", "/v1/cards", "/openapi.json"):
        assert httpx2.get(server + path, trust_env=False).status_code == 200


def test_a_port_that_is_taken_is_no_success(command: str) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        result = subprocess.run(
            [command, "serve", "--port", port], capture_output=True, text=True, check=False, timeout=60
        )
    assert result.returncode not in (0, 130)
    assert "address already in use" in result.stderr.lower()
