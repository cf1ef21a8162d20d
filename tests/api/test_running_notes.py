"""What the README says about running the service, the Dockerfile, and what is really there."""

import re
from dataclasses import fields
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from api.app import create_app
from api.settings import PREFIX, Settings

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
NOTES = README.partition("\n## Running it\n")[2].partition("\n## ")[0]
ROWS = dict(re.findall(rf"^\| `{PREFIX}([A-Z_]+)` \| ([^|]+) \|", NOTES, re.MULTILINE))
IN_WORDS = {"threads": "the cores", "pages": "the page that comes with it"}
DOCKERFILE = (ROOT / ".container" / "Dockerfile").read_text(encoding="utf-8")


def test_every_setting_is_documented_and_nothing_else() -> None:
    assert set(ROWS) == {setting.name.upper() for setting in fields(Settings)}


@pytest.mark.parametrize("name", [setting.name for setting in fields(Settings)])
def test_its_default_is_the_one_said(name: str) -> None:
    said = ROWS[name.upper()].strip()
    if name in IN_WORDS:
        assert said == IN_WORDS[name]
        return
    assert getattr(Settings.from_environment({f"{PREFIX}{name.upper()}": said}), name) == getattr(
        Settings(), name
    )


def test_every_metric_that_is_named_is_there() -> None:
    named = set(re.findall(r"`(threepass_[a-z_]+)`", NOTES))
    assert len(named) >= 3
    with TestClient(create_app(Settings(threads=1, metrics=True))) as client:
        client.get("/livez")
        text = client.get("/metrics").text
    assert all(re.search(rf"^{name}(_count)?[ {{]", text, re.MULTILINE) for name in named)


def test_the_grace_that_is_named_is_the_default_and_shorter_than_the_kill() -> None:
    (grace, kill) = re.findall(r"\((\d+) s of grace: (\d+)\)", NOTES)[0]
    assert float(grace) == Settings().grace < float(kill)
    assert f"--stop-timeout {kill}" in NOTES and f"--stop-timeout {kill}" in DOCKERFILE


def test_the_container_runs_as_nobody_and_asks_whether_it_lives() -> None:
    (user,) = re.findall(r"^USER (\d+):(\d+)$", DOCKERFILE, re.MULTILINE)
    assert all(int(number) > 0 for number in user)
    assert "/livez" in DOCKERFILE.partition("HEALTHCHECK")[2].partition("\nENTRYPOINT")[0]
    assert re.search(r"^STOPSIGNAL SIGTERM$", DOCKERFILE, re.MULTILINE)


def test_what_a_pdf_is_made_with_is_in_the_container() -> None:
    (named,) = re.findall(r"PDF needs [^(]+\(Debian:\s`([^`]+)`\)", README)
    assert {"libharfbuzz-subset0"} < set(named.split()) <= set(DOCKERFILE.split())


def test_what_is_copied_is_not_ignored_and_is_there() -> None:
    ignored = (ROOT / ".dockerignore").read_text(encoding="utf-8").split()
    allowed = {line[1:] for line in ignored if line.startswith("!")}
    lines = [line for line in re.findall(r"^COPY (.*)$", DOCKERFILE, re.MULTILINE) if "--from" not in line]
    copied = {word for line in lines for word in line.split()[:-1]}
    assert "*" in ignored
    assert copied == allowed
    assert all((ROOT / name).exists() for name in copied)
