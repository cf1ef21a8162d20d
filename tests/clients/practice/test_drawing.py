import pytest

from clients.cli.practice.drawing import can_box, drawn
from clients.cli.practice.tiles import TOKENS


def test_tiles_are_drawn_in_rows_of_seven_within_a_page() -> None:
    for box in (True, False):
        lines = drawn(TOKENS[:14], box)
        assert len(lines) == 8
        assert max(map(len, lines)) <= 80
        assert len({len(line) for line in lines}) == 1


def test_every_kind_has_a_face_of_its_own() -> None:
    faces = {tuple(drawn([token], box=True)) for token in TOKENS}
    assert len(faces) == len(TOKENS)
    assert drawn(["4c", "green", "F"], box=True) == [
        "╭──────╮ ╭──────╮ ╭──────╮",
        "│  4   │ │green │ │  F   │",
        "│ crak │ │dragon│ │flower│",
        "╰──────╯ ╰──────╯ ╰──────╯",
    ]


def test_plain_characters_serve_as_well() -> None:
    assert all(line.isascii() for line in drawn(TOKENS, box=False))
    assert drawn(["N"], box=False) == [".------.", "|north |", "| wind |", "'------'"]
    assert drawn([], box=False) == []


@pytest.mark.parametrize(
    ("encoding", "can"),
    [("utf-8", True), ("ascii", False), ("latin-1", False), (None, False), ("none", False)],
)
def test_box_characters_only_where_they_can_be_shown(encoding: str | None, can: bool) -> None:
    assert can_box(encoding) is can
