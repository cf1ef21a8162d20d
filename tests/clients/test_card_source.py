from pathlib import Path

import pytest

from clients.cli.card_source import MAX_FILE, card_from, card_of
from clients.cli.exits import UsageFault


def test_a_name_stays_a_name_and_a_path_becomes_its_text(card_file: Path, tmp_path: Path) -> None:
    text = card_file.read_text(encoding="utf-8")
    bare = tmp_path / "bare"
    bare.write_text(text, encoding="utf-8")
    assert card_of("small") == "small"
    assert card_of("no\0name") == "no\0name"
    assert card_of("n" * 5000) == "n" * 5000
    assert card_of(str(tmp_path)) == str(tmp_path)
    assert card_of(str(card_file)) == {"toml": text, "file": "my-card.toml"}
    assert card_of(str(bare)) == {"toml": text, "file": "bare"}


def test_files_that_cannot_be_used(tmp_path: Path) -> None:
    (tmp_path / "latin.toml").write_bytes(b'[card]\nname = "caf\xe9"\n')
    (tmp_path / "long.toml").write_bytes(b"#" * (MAX_FILE + 1))
    for name, fault in [
        ("none.toml", "No such file"),
        ("latin.toml", "not UTF-8 at byte 18"),
        ("long.toml", "over 1,000,000 bytes"),
        (".", "Is a directory"),
        ("nul\0.toml", "null byte"),
    ]:
        with pytest.raises(UsageFault, match=fault) as caught:
            card_from(str(tmp_path / name))
        assert len(caught.value.lines) == 1
    (tmp_path / "edge.toml").write_bytes(b"#" * MAX_FILE)
    assert len(card_from(str(tmp_path / "edge.toml"))["toml"]) == MAX_FILE
