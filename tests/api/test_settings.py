from dataclasses import fields
from pathlib import Path

import pytest

from api.settings import FaultySettingsError, Settings

OTHER = {
    "threads": 3,
    "queue": 5,
    "longest_wait": 2.5,
    "longest_sending": 7.5,
    "body_limit": 1000,
    "max_effort": 1.5,
    "kept_cards": 4,
    "grace": 60.0,
    "pages": Path(__file__).parents[2] / "clients" / "web",
    "metrics": True,
    "log_details": True,
}


def test_every_setting_is_tried_here() -> None:
    assert set(OTHER) == {setting.name for setting in fields(Settings)}


@pytest.mark.parametrize("name", OTHER)
def test_each_setting_has_its_variable(name: str) -> None:
    written = str(int(OTHER[name])) if isinstance(OTHER[name], bool) else str(OTHER[name])
    read = Settings.from_environment({f"THREEPASS_{name.upper()}": written})
    assert getattr(read, name) == OTHER[name] != getattr(Settings(), name)
    assert type(getattr(read, name)) is type(OTHER[name])
    rest = [setting.name for setting in fields(Settings) if setting.name != name]
    assert all(getattr(read, other) == getattr(Settings(), other) for other in rest)


def test_the_processs_own_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("THREEPASS_QUEUE", "7")
    assert Settings.from_environment().queue == 7


@pytest.mark.parametrize("name", OTHER)
def test_each_setting_says_what_it_is(name: str) -> None:
    setting = next(setting for setting in fields(Settings) if setting.name == name)
    assert setting.metadata["says"]


def test_values_of_the_wrong_sort_are_all_named() -> None:
    with pytest.raises(FaultySettingsError) as caught:
        Settings.from_environment(
            {
                "THREEPASS_THREADS": "two",
                "THREEPASS_GRACE": "",
                "THREEPASS_QUEUE": "1",
                "THREEPASS_METRICS": "yes",
            }
        )
    assert str(caught.value) == (
        "THREEPASS_THREADS must be a whole number; THREEPASS_GRACE must be a number; "
        "THREEPASS_METRICS must be 0 or 1"
    )


def test_values_out_of_range_are_all_named() -> None:
    with pytest.raises(FaultySettingsError, match=r"threads must be 1 to 256; max_effort must be .* to 20"):
        Settings(threads=0, max_effort=21)
    with pytest.raises(FaultySettingsError, match="longest_wait"):
        Settings(longest_wait=float("nan"))
    with pytest.raises(FaultySettingsError, match="longer than longest_sending and longest_wait"):
        Settings(grace=5, longest_sending=2, longest_wait=3)
    assert Settings(grace=5, longest_sending=2, longest_wait=2.9).grace == 5


def test_pages_must_be_a_page(tmp_path: Path) -> None:
    with pytest.raises(FaultySettingsError, match=r"pages must be a folder with an index\.html"):
        Settings.from_environment({"THREEPASS_PAGES": str(tmp_path)})


def test_one_thread_a_core_at_first() -> None:
    assert Settings().threads >= 1
