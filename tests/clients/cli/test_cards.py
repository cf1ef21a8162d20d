import json
import re
from pathlib import Path

import pytest

from tests.clients.conftest import Run

# Steps that double over three suits, as in the README: one with a tile too few, one with no such suit.
FAULTY = """[card]
name = "Faulty"

[[hand]]
name = "Too Short"
family = "shelves"
groups = "flower*3 np*3 (n+1)q*4 (n+3)r*3"

[[hand]]
name = "Too Odd"
family = "shelves"
groups = "flower*4 np*3 (n+1)x*4 (n+3)r*3"
"""


def test_list(run: Run) -> None:
    cards = json.loads(run("cards", "list", "--json").stdout)["cards"]
    assert [card["name"] for card in cards] == ["full", "small"]
    text = run("cards", "list")
    assert (text.exit_code, text.stderr) == (0, "")
    for card in cards:
        line = next(line for line in text.stdout.splitlines() if line.startswith(card["name"]))
        assert f"{card['title']}: {card['words']}" in line
        assert ", ".join(card["families"]) in " ".join(text.stdout.split())


@pytest.mark.parametrize("name", ["small", "full"])
def test_show(run: Run, name: str) -> None:
    card = json.loads(run("cards", "show", name, "--json").stdout)
    text = run("cards", "show", name)
    assert (text.exit_code, text.stderr) == (0, "")
    assert max(map(len, text.stdout.splitlines())) <= 80
    shown = " ".join(text.stdout.split())
    assert all(" ".join(words.split()) in shown for words in card["words"].values())
    assert "A target is one exact set" in shown
    hand = re.compile(r"^ +(\S.*?%)  (\S.*?) {2,}(\S.*)\n((?: {14,}.*\n)+)", re.MULTILINE)
    found = {name: (chance, targets, rest) for chance, name, targets, rest in hand.findall(text.stdout)}
    assert set(found) == {hand["name"] for hand in card["hands"]}
    for said in card["hands"]:
        chance, targets, rest = found[said["name"]]
        assert (chance, targets) == (said["words"]["chance"], said["words"]["targets"])
        rest = " ".join(rest.split())
        assert all(" ".join(groups.split()) in rest for groups in said["groups"])
        assert (said["words"]["facts"] or "") in rest
        assert said["where"] is None or f"where {said['where']}" in rest


@pytest.mark.parametrize("name", ["../livez", "?", "ü"])
def test_a_card_that_is_not_there(run: Run, name: str) -> None:
    result = run("cards", "show", name)
    assert (result.exit_code, result.stdout) == (1, "")
    assert len(result.stderr.splitlines()) == 1


def test_check_of_a_good_card(run: Run, card_file: Path) -> None:
    result = run("cards", "check", str(card_file))
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.startswith("my-card.toml: no faults\n")
    assert "Worth a second look" not in result.stdout
    answer = json.loads(run("cards", "check", str(card_file), "--json").stdout)
    assert answer["ok"] is True
    # Copper Pans: a rank of six and suits in six orders. Left Out: n of 1, 3 or 5.
    targets = {hand["name"]: hand["targets"] for hand in answer["card"]["hands"]}
    assert (targets["Copper Pans"], targets["Left Out"]) == (36, 18)
    for name, count in targets.items():
        assert re.search(rf"^ +[\w. ]+ %  {name} +{count} targets$", result.stdout, re.MULTILINE)
    shown = " ".join(result.stdout.split())
    assert "or np*4 (n+5)q*4 west*3 flower*3" in shown
    assert "where n odd" in shown
    assert "concealed, weight 1.5" in shown


def test_check_names_all_faults_with_file_and_line(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "faulty.toml"
    path.write_text(FAULTY, encoding="utf-8")
    result = run("cards", "check", str(path))
    assert (result.exit_code, result.stderr) == (1, "")
    head, *faults = re.sub(r"\n {4}", " ", result.stdout).splitlines()
    assert head == "faulty.toml: 2 faults"
    assert faults[0].startswith("  faulty.toml, line 7, groups: hand 'Too Short': ")
    assert faults[1].startswith("  faulty.toml, line 12, groups: hand 'Too Odd': ")
    as_json = run("cards", "check", str(path), "--json")
    assert as_json.exit_code == 1
    said = json.loads(as_json.stdout)
    assert said["ok"] is False
    assert [" ".join(fault["detail"].split()) for fault in said["faults"]] == [
        line.strip() for line in faults
    ]


def test_a_card_is_added_to_the_folder_used_by_its_name_and_removed(
    run: Run, card_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("THREEPASS_CARDS", str(tmp_path / "folder"))
    added = run("cards", "add", str(card_file))
    assert (added.exit_code, added.stderr) == (0, "")
    assert added.stdout.startswith("added: Kitchen Table, 4 hands, ")
    assert "my-card   Kitchen Table: " in run("cards", "list").stdout
    assert run("cards", "show", "my-card").stdout.startswith("Kitchen Table: ")
    assert run("cards", "add", str(card_file), "--name", "other").exit_code == 0
    assert run("cards", "remove", "my-card").stdout == "removed: my-card\n"
    assert run("cards", "remove", "my-card").exit_code == 2
    assert run("cards", "show", "my-card").exit_code == 1


@pytest.mark.parametrize("name", ["small", "../x", ".x"])
def test_a_card_cannot_be_added_under_a_name_that_is_taken_or_none(
    run: Run, card_file: Path, tmp_path: Path, name: str
) -> None:
    result = run("cards", "add", str(card_file), "--name", name, "--folder", str(tmp_path / "folder"))
    assert (result.exit_code, result.stdout) == (2, "")
    assert not (tmp_path / "folder").exists()


def test_a_faulty_card_is_not_added(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "faulty.toml"
    path.write_text(FAULTY, encoding="utf-8")
    result = run("cards", "add", str(path), "--folder", str(tmp_path / "folder"))
    assert result.exit_code == 2
    assert result.stdout.startswith("faulty.toml: 2 faults\n")
    assert not (tmp_path / "folder").exists()
