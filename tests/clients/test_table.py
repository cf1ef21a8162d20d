import pytest

from clients.cli.render.layout import WIDTH
from clients.cli.render.table import table


def test_columns_are_as_wide_as_their_cells() -> None:
    assert table(["a", "count", "c"], [["one", "1", "x"], ["three", "30", ""]], right=[1]) == [
        "  a      count  c",
        "  one        1  x",
        "  three     30",
    ]


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


def test_a_row_of_another_length_is_refused() -> None:
    with pytest.raises(ValueError, match="zip"):
        table(["a", "b"], [["1"]])


def test_no_rows() -> None:
    assert table(["a", "b"], []) == ["  a  b"]
