"""What the README shows is what happens."""

import json
import re
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from clients.cli import exits
from clients.cli.main import cli
from clients.cli.question import ROUNDS
from clients.cli.transport import Service

Run = Callable[..., Result]
ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def block(mark: str) -> str:
    """Return the fenced block that follows a comment of this beginning."""
    found = re.search(rf"<!-- {mark}:[^\n]*-->\n```\w+\n(.*?)\n```", README, re.DOTALL)
    assert found is not None, mark
    return found[1]


def test_the_worked_example_is_the_real_answer(run: Run) -> None:
    command, _, shown = block("worked example").partition("\n")
    prompt, program, *arguments = shlex.split(command)
    assert (prompt, program) == ("$", "threepass")
    result = run(*arguments)
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.splitlines() == shown.splitlines()


def test_the_review_is_the_real_one(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("recorded.json").write_text(block("record example"), encoding="utf-8")
    command, _, shown = block("review example").partition("\n")
    prompt, program, *arguments = shlex.split(command)
    assert (prompt, program) == ("$", "threepass")
    result = run(*arguments)
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.splitlines() == shown.splitlines()


def test_the_first_command_asks_the_same_rack() -> None:
    (first,) = re.findall(r"^python3 .*threepass (advise .*)$", README, re.MULTILINE)
    assert f"$ threepass {first} --hands 3" in README


def test_the_card_passes_the_check_and_answers(run: Run, tmp_path: Path, rack: str) -> None:
    path = tmp_path / "my-card.toml"
    path.write_text(block("card example"), encoding="utf-8")
    checked = run("cards", "check", str(path))
    assert (checked.exit_code, checked.stderr) == (0, "")
    assert checked.stdout.startswith("my-card.toml: no faults\n")
    assert "Worth a second look" not in checked.stdout
    assert run("advise", rack, "--round", "first-right", "--card", str(path)).exit_code == 0


@pytest.fixture
def answer() -> dict[str, Any]:
    """The answer to the README's request."""
    words = shlex.split(block("request example"))
    assert words[:3] == ["curl", "-s", "http://127.0.0.1:8333/v1/advice"]
    with Service(None) as service:
        reply = service.post("/v1/advice", words[words.index("-d") + 1].encode())
    assert reply.status == 200
    read: dict[str, Any] = json.loads(reply.body)
    return read


def test_every_member_of_an_answer_is_described(answer: dict[str, Any]) -> None:
    table = README.partition("| member of the answer |")[2].partition("\n\n")[0]
    rows = [re.findall(r"`([a-z_]+)`", row) for row in table.splitlines()[2:]]
    described = {
        name for row in table.splitlines()[2:] for name in re.findall(r"`([a-z_]+)`", row.split("|")[1])
    }
    assert described == set(answer)
    members = {row[0]: set(row[1:]) for row in rows}
    assert members["proof"] - {"optimal", "feasible"} == set(answer["proof"])
    assert members["call"] == set(answer["call"])
    assert members["assumptions"] == set(answer["assumptions"])
    for name in ("hands", "given_up", "alternatives", "by_number"):
        assert members[name] == set(answer[name][0])


def test_every_exit_code_is_described() -> None:
    table = README.partition("| exit code |")[2].partition("\n\n")[0]
    codes = {int(code) for code in re.findall(r"^\| (\d+) \|", table, re.MULTILINE)}
    known = {value for name, value in vars(exits).items() if name.isupper() and isinstance(value, int)}
    assert codes == {0, *known}


def test_every_command_and_round_is_named() -> None:
    for name, command in cli.commands.items():
        for inner in getattr(command, "commands", None) or [""]:
            assert f"`threepass {name} {inner}".rstrip() in README
    assert all(f"`{name.replace('_', '-')}`" in README for name in ROUNDS)
