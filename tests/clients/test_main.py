import signal
import subprocess
import sys
from collections.abc import Callable
from importlib.metadata import version

import pytest
from click.testing import Result

from clients.cli import main
from clients.cli.transport import Service

Run = Callable[..., Result]


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        *((name,) for name in main.cli.commands),
        *(("cards", name) for name in ("list", "show", "check")),
    ],
)
def test_every_command_has_help(run: Run, arguments: tuple[str, ...]) -> None:
    result = run(*arguments, "--help")
    assert result.exit_code == 0
    assert result.stdout.startswith("Usage: ")


def test_version(run: Run) -> None:
    assert run("--version").stdout.split()[-1] == version("threepass")


def test_help_loads_nothing_heavy() -> None:
    code = (
        "import sys\nfrom clients.cli.main import cli\ncli(['advise', '--help'], standalone_mode=False)\n"
        "heavy = {'httpx2', 'ortools', 'numpy', 'pydantic', 'asyncio', 'api', 'solver', 'patterns'}\n"
        "assert not heavy & sys.modules.keys(), heavy & sys.modules.keys()"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (result.returncode, result.stderr) == (0, "")


def test_an_interruption_has_its_own_code(run: Run, rack: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Service, "post", interrupted)
    result = run("advise", rack, "--round", "courtesy")
    assert (result.exit_code, result.stdout) == (130, "")


def test_an_interruption_outside_of_a_command_too(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(**_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(main, "cli", interrupted)
    with pytest.raises(SystemExit) as caught:
        main.main()
    assert caught.value.code == 130


def test_the_installed_command_ends_with_its_codes(command: str, rack: str) -> None:
    for arguments, code in [
        (("advise", rack, "--round", "courtesy", "--card", "small", "--give", "0"), 0),
        (("advise", "3x", "--round", "courtesy"), 1),
        (("advise", rack), 2),
    ]:
        result = subprocess.run([command, *arguments], capture_output=True, text=True, check=False)
        assert result.returncode == code, result.stderr
        assert "Traceback" not in result.stderr


def test_ctrl_c_while_it_waits(command: str) -> None:
    process = subprocess.Popen(
        [command, "advise", "-", "--round", "courtesy"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write(b"no\n")
    process.stdin.flush()
    assert b"not-json" in process.stdout.readline()
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 130
    assert b"Traceback" not in said
