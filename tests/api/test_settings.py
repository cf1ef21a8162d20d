"""Settings, what is told of running the service, the Dockerfile, and what is really there."""

import re
from pathlib import Path
from typing import Any

import pytest

from api.settings import PREFIX, FaultySettingsError, Settings
from tests.api.asking import opened

ROOT = Path(__file__).parents[2]
NOTES = (ROOT / "api" / "RUNNING.md").read_text(encoding="utf-8")
ROWS = dict(re.findall(rf"^\| `{PREFIX}([A-Z_]+)` \| ([^|]+) \|", NOTES, re.MULTILINE))
IN_WORDS = {
    "cards": "`cards` in the data folder of who runs it",
    "threads": "the cores",
    "pages": "the page that comes with it",
    **dict.fromkeys(("hosts", "origins", "embedders"), "none"),
}
DOCKERFILE = (ROOT / ".container" / "Dockerfile").read_text(encoding="utf-8")

OTHER = {
    "threads": 3,
    "queue": 5,
    "longest_wait": 2.5,
    "longest_sending": 7.5,
    "longest_solve": 4.5,
    "most_work": 2e6,
    "connections": 50,
    "body_limit": 1000,
    "kept_cards": 4,
    "cards": ROOT / "tests",
    "grace": 60.0,
    "pages": ROOT / "clients" / "web",
    "hosts": ("threepass", "club.example"),
    "origins": ("https://club.example", "http://[::1]:5173"),
    "embedders": ("*",),
    "metrics": True,
    "log_details": True,
}


def test_every_setting_is_documented_and_tried_here() -> None:
    assert set(OTHER) == set(Settings.model_fields) == set(map(str.lower, ROWS))


@pytest.mark.parametrize("name", OTHER)
def test_each_setting_has_its_variable(name: str) -> None:
    other: Any = OTHER[name]
    written = str(int(other)) if isinstance(other, bool) else str(other)
    if isinstance(other, tuple):
        written = ", ".join(other).upper()
    read = Settings.from_environment({f"THREEPASS_{name.upper()}": written})
    assert getattr(read, name) == OTHER[name] != getattr(Settings(), name)
    assert type(getattr(read, name)) is type(OTHER[name])
    rest = [setting for setting in Settings.model_fields if setting != name]
    assert all(getattr(read, other) == getattr(Settings(), other) for other in rest)


@pytest.mark.parametrize(
    ("values", "faulty"),
    [
        ({"THREADS": "two", "GRACE": "", "QUEUE": "1", "METRICS": "2"}, ["THREADS", "GRACE", "METRICS"]),
        (
            {"THREADS": "0", "KEPT_CARDS": "21", "LONGEST_WAIT": "nan"},
            ["THREADS", "LONGEST_WAIT", "KEPT_CARDS"],
        ),
    ],
)
def test_wrong_values_are_all_named(values: dict[str, str], faulty: list[str]) -> None:
    with pytest.raises(FaultySettingsError) as caught:
        Settings.from_environment({f"{PREFIX}{name}": value for name, value in values.items()})
    told = [each.partition(": ")[0] for each in str(caught.value).split("; ")]
    assert told == [f"{PREFIX}{name}" for name in faulty]


def test_the_grace_outlasts_what_may_be_under_way() -> None:
    with pytest.raises(ValueError, match="longer than longest_sending and longest_wait"):
        Settings(grace=5, longest_sending=2, longest_wait=3)
    assert Settings(grace=5, longest_sending=2, longest_wait=2.9).grace == 5


def test_pages_must_be_a_page(tmp_path: Path) -> None:
    with pytest.raises(FaultySettingsError, match=r"pages must be a folder with an index\.html"):
        Settings.from_environment({"THREEPASS_PAGES": str(tmp_path)})


@pytest.mark.parametrize("name", list(Settings.model_fields))
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
    with opened(metrics=True) as client:
        client.get("/livez")
        text = client.get("/metrics").text
    assert all(re.search(rf"^{name}(_count)?[ {{]", text, re.MULTILINE) for name in named)


def test_the_container_runs_as_nobody_and_asks_whether_it_lives() -> None:
    (user,) = re.findall(r"^USER (\d+):(\d+)$", DOCKERFILE, re.MULTILINE)
    assert all(int(number) > 0 for number in user)
    assert "/livez" in DOCKERFILE.partition("HEALTHCHECK")[2].partition("\nENTRYPOINT")[0]
    assert re.search(r"^STOPSIGNAL SIGTERM$", DOCKERFILE, re.MULTILINE)


def test_what_is_copied_is_not_ignored_and_is_there() -> None:
    ignored = (ROOT / ".dockerignore").read_text(encoding="utf-8").split()
    allowed = {line[1:] for line in ignored if line.startswith("!")}
    lines = [line for line in re.findall(r"^COPY (.*)$", DOCKERFILE, re.MULTILINE) if "--from" not in line]
    copied = {word for line in lines for word in line.split()[:-1]}
    assert "*" in ignored
    assert copied == allowed
    assert all((ROOT / name).exists() for name in copied)
