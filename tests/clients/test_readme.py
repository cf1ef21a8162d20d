"""What the README shows is what happens."""

import re
import shlex
from pathlib import Path

import pytest

from api.service import ROUNDS
from clients.cli.main import cli
from clients.cli.output import Exit
from tests.clients.conftest import OWN_CARD, Run

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def block(mark: str) -> str:
    """Return the fenced block that follows a comment of this beginning."""
    found = re.search(rf"<!-- {mark}:[^\n]*-->\n```\w+\n(.*?)\n```", README, re.DOTALL)
    assert found is not None, mark
    return found[1]


@pytest.mark.parametrize("example", ["worked example", "review example"])
def test_an_example_is_the_real_answer(
    example: str, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("recorded.txt").write_text(block("record example"), encoding="utf-8")
    command, *shown = block(example).splitlines()
    prompt, program, *arguments = shlex.split(command)
    assert (prompt, program) == ("$", "threepass")
    result = run(*arguments)
    assert (result.exit_code, result.stderr) == (0, "")
    assert shown.pop() == "...", "more follows"
    assert result.stdout.splitlines()[: len(shown)] == shown


def test_the_first_command_asks_the_same_rack() -> None:
    (first,) = re.findall(r"^python3 .*threepass (advise .*)$", README, re.MULTILINE)
    assert f"$ threepass {first} --hands 1" in README


def test_the_card_is_the_one_that_tests_of_the_command_check_and_use() -> None:
    assert block("card example") + "\n" == OWN_CARD.read_text(encoding="utf-8")


def test_every_exit_code_is_described() -> None:
    notes = (ROOT / "api" / "README.md").read_text(encoding="utf-8")
    table = notes.partition("| exit code |")[2].partition("\n\n")[0]
    codes = {int(code) for code in re.findall(r"^\| (\d+) \|", table, re.MULTILINE)}
    assert codes == set(Exit)


def test_every_command_and_round_is_named() -> None:
    for name, command in cli.commands.items():
        for inner in getattr(command, "commands", None) or [""]:
            assert f"`threepass {name} {inner}".rstrip() in README
    assert all(f"`{name.replace('_', '-')}`" in README for name in ROUNDS)
