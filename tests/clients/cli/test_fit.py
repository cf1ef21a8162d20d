"""``threepass cards fit``: games kept as they come, the same file whoever plays them, used from then on."""

import json
from functools import cache
from pathlib import Path

import pytest

from api.answers import fits
from tests.clients.conftest import Run

OWN = Path(__file__).parents[2] / "own_card.toml"


@pytest.fixture
def card(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a card's file; its games are made up."""
    real = fits.game_for_fit
    first_game = cache(real)

    def quick(card: object, seed: int, number: int) -> object:
        first = first_game(card, seed, 0)  # type: ignore[arg-type]
        return fits.FitGame(**{**vars(first), "number": number, "won": int(number % 4 == 0)})

    monkeypatch.setattr(fits, "game_for_fit", quick)
    path = tmp_path / "mine.toml"
    path.write_bytes(OWN.read_bytes())
    return path


def test_a_fit_lies_beside_the_card_and_is_used(run: Run, card: Path, rack: str) -> None:
    made = run("cards", "fit", str(card), "--games", "30", "--seed", "3")
    assert made.exit_code == 0
    assert made.stdout.startswith(f"{card.with_name('mine.fit.toml')}: 30 games\n")
    assert "some hand, when play begins: off by" in made.stdout
    told = run("advise", rack, "--round", "first-right", "--card", str(card), "--json")
    assert json.loads(told.stdout)["odds"]["games"] == 30


def test_after_an_interruption_the_same_command_makes_the_same_file(
    run: Run, card: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = ("cards", "fit", str(card), "--games", "30")
    whole = run(*asked)
    assert whole.exit_code == 0
    fit = card.with_name("mine.fit.toml")
    made = fit.read_bytes()
    fit.unlink()
    answers = card.with_name("mine.fit") / "answers.jsonl"
    kept = answers.read_bytes().split(b"\n")
    answers.write_bytes(b"\n".join(kept[:6]) + b"\n" + kept[6][:20])
    quick, left = fits.game_for_fit, iter(range(5))

    def breaks_off(*asked: object) -> object:
        if next(left, None) is None:
            raise KeyboardInterrupt
        return quick(*asked)  # type: ignore[arg-type]

    monkeypatch.setattr(fits, "game_for_fit", breaks_off)
    broken = run(*asked)
    assert broken.exit_code == 130 and "the same command goes on" in broken.stderr
    assert not fit.exists()
    monkeypatch.setattr(fits, "game_for_fit", quick)
    again = run(*asked)
    assert (again.exit_code, again.stdout) == (0, whole.stdout)
    assert "going on: 14 games kept from before" in again.stderr
    assert fit.read_bytes() == made


def test_games_of_another_seed_are_not_mixed(run: Run, card: Path) -> None:
    assert run("cards", "fit", str(card), "--games", "30").exit_code == 0
    other = run("cards", "fit", str(card), "--games", "30", "--seed", "8")
    assert other.exit_code == 2 and "another request" in other.stderr
