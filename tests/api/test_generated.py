"""Clients generated from the description, in Python and in TypeScript, and a use of each type-checked."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from api.service import describe

pytestmark = pytest.mark.long
# Each uses a request with an enum, an answer, and a problem. What is wrong on purpose ends with the mark.
WRONG = "wrong on purpose"
PYTHON = """\
from made.api.advice import advice
from made.client import Client
from made.models import AdviceAnswer, AdviceRequest, Closeness, Problem, ProblemType, Round, Tile


def best(server: str) -> list[Tile]:
    asked = AdviceRequest(rack="2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J", round_=Round.FIRST_RIGHT, card="small")
    said = advice.sync(client=Client(server), body=asked)
    if isinstance(said, Problem):
        assert said.type_ is not ProblemType.LIMITS_CLASH, [item.pointer for item in said.errors]
    assert isinstance(said, AdviceAnswer)
    close: bool = said.closeness.word is Closeness.TOSS_UP
    share: str = said.strength  # wrong on purpose
    return said.pass_ if close else [Tile.B4, Tile.JOKER, Tile.EAST]
"""
TYPESCRIPT = """\
import createClient from "openapi-fetch";
import { Closeness, ProblemType, Round, Tile, type paths } from "./made";

export async function best(server: string): Promise<Tile[]> {
  const client = createClient<paths>({ baseUrl: server });
  const body = { rack: "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J", round: Round.FIRST_RIGHT, card: "small" };
  const { data, error } = await client.POST("/v1/advice", { body });
  if (error !== undefined) {
    const clash = error.type === ProblemType.LIMITS_CLASH;
    throw new Error(clash ? error.errors.map((each) => each.pointer).join() : error.detail);
  }
  const close: boolean = data.closeness.word === Closeness.TOSS_UP;
  const share: string = data.strength; // wrong on purpose
  return close ? data.pass : [Tile.B4, Tile.JOKER, Tile.EAST];
}
"""
NODE_PACKAGES = ("openapi-typescript@7.13.0", "openapi-fetch@0.17.0", "typescript@5.9.3")


def run(*command: object, where: Path) -> subprocess.CompletedProcess[str]:
    # The generator calls a formatter that stands beside it.
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ["PATH"]])
    return subprocess.run(
        [*map(str, command)],
        cwd=where,
        capture_output=True,
        text=True,
        timeout=300,
        env={**os.environ, "PATH": path},
    )


def only_the_wrong_line(ran: subprocess.CompletedProcess[str], code: str, name: str) -> None:
    """Check that a type checker finds one error, in the line that has one."""
    (number,) = [number for number, line in enumerate(code.splitlines(), 1) if WRONG in line]
    errors = [line for line in ran.stdout.splitlines() if "error" in line and "Found" not in line]
    assert len(errors) == 1 and errors[0].startswith((f"{name}:{number}:", f"{name}({number},")), ran.stdout


@pytest.fixture
def described(tmp_path: Path) -> Path:
    path = tmp_path / "description.json"
    path.write_text(json.dumps(describe()), encoding="utf-8")
    return path


def test_a_client_in_python(described: Path, tmp_path: Path) -> None:
    # The generator knows no lines of JSON; a body of one line is JSON.
    settings = {"content_type_overrides": {"application/x-ndjson": "application/json"}}
    (tmp_path / "settings.json").write_text(json.dumps(settings), encoding="utf-8")
    generator = Path(sys.executable).parent / "openapi-python-client"
    options = ("--meta", "none", "--config", "settings.json", "--fail-on-warning", "--output-path", "made")
    made = run(generator, "generate", "--path", described, *options, where=tmp_path)
    assert made.returncode == 0, made.stdout
    (tmp_path / "use.py").write_text(PYTHON, encoding="utf-8")
    checked = run(
        sys.executable, "-m", "mypy", "--strict", "--follow-imports=silent", "use.py", where=tmp_path
    )
    only_the_wrong_line(checked, PYTHON, "use.py")


def test_a_client_in_typescript(described: Path, tmp_path: Path) -> None:
    if shutil.which("npm") is None:
        says = "no npm here: install it to try the TypeScript that is generated"
        if os.environ.get("THREEPASS_NODE") == "required":
            pytest.fail(says)
        pytest.skip(says)
    quietly = ("--no-audit", "--no-fund", "--no-package-lock", "--prefer-offline", "--prefix", ".")
    installed = run("npm", "install", *quietly, *NODE_PACKAGES, where=tmp_path)
    assert installed.returncode == 0, installed.stderr
    tools = tmp_path / "node_modules" / ".bin"
    options = ("--enum", "--default-non-nullable", "false", "-o", "made.ts")
    made = run(tools / "openapi-typescript", described, *options, where=tmp_path)
    assert made.returncode == 0, made.stderr
    (tmp_path / "use.ts").write_text(TYPESCRIPT, encoding="utf-8")
    strict = ("--strict", "--module", "es2022", "--moduleResolution", "bundler", "--target", "es2022")
    options = ("--noEmit", "--skipLibCheck", "--pretty", "false")
    checked = run(tools / "tsc", *strict, *options, "use.ts", where=tmp_path)
    only_the_wrong_line(checked, TYPESCRIPT, "use.ts")
