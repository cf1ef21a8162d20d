"""Pages of 80 columns: labels, entries, paragraphs, tables."""

import pytest

from clients.cli.output import WIDTH, entry, in_groups, labeled, page, paragraph, table


def test_long_text_goes_on_below_itself() -> None:
    lines = labeled("Label", "word " * 40)
    assert len(lines) > 2
    assert lines[0].startswith("  Label ")
    assert all(len(line) <= WIDTH for line in lines)
    assert {line.index("word") for line in lines} == {lines[0].index("word")}
    assert labeled("Label", "") == ["  Label"]


def test_a_figure_keeps_its_percent_sign() -> None:
    for length in range(50, 62):
        lines = labeled("Label", "x" * length + " 12.3 % more")
        assert "12.3 %" in " ".join(lines)
        assert all(not line.lstrip().startswith("%") for line in lines)
        assert "\u00a0" not in "".join(lines)


def test_a_note_stands_at_the_edge_or_below() -> None:
    (line,) = entry("1.0 %", "name", "note")
    assert (len(line), line.split()) == (WIDTH, ["1.0", "%", "name", "note"])
    lines = entry("1.0 %", "n" * 60, "a longer note")
    assert [line.strip() for line in lines] == ["1.0 %  " + "n" * 60, "a longer note"]
    assert entry("1.0 %", "name")[0].endswith("name")


def test_paragraphs_hang_and_blocks_are_parted() -> None:
    lines = paragraph("word " * 40)
    assert lines[0].startswith("  word")
    assert lines[1].startswith("    word")
    assert page([["a", "b"], [], ["c"]]) == "a\nb\n\nc"


def test_tiles_stand_in_groups() -> None:
    assert in_groups(["F", "F", "4c", "F"]) == "F F  4c  F"
    assert in_groups([]) == "none"


def test_columns_are_as_wide_as_their_cells() -> None:
    assert table(["a", "count", "c"], [["one", "1", "x"], ["three", "30", ""]], right=[1]) == [
        "  a      count  c",
        "  one        1  x",
        "  three     30",
    ]
    assert table(["a", "b"], []) == ["  a  b"]
    with pytest.raises(ValueError, match="zip"):
        table(["a", "b"], [["1"]])


def test_what_does_not_fit_is_wrapped_below_itself() -> None:
    lines = table(["name", "n"], [["word " * 40, "7"], ["next", "8"]], right=[1])
    assert max(map(len, lines)) <= WIDTH
    assert lines[0].endswith("  n")
    assert lines[1].endswith("  7")
    assert lines[2].startswith("  word")
    assert " ".join(lines).split().count("word") == 40
    assert lines[-1].split() == ["next", "8"]


def test_figures_are_never_wrapped() -> None:
    assert table(["n"], [["9" * 100]], right=[0]) == ["  " + "n".rjust(100), "  " + "9" * 100]
    # Nor is a column made narrower than a tile or two.
    assert len(table(["a", "n"], [["x" * 9, "9" * 100]], right=[1])) == 3
