from clients.cli.render.layout import WIDTH, entry, labelled, paragraph
from clients.cli.render.words import all_in_words, counted, fine, percent, plain, tile_words, tokens_in_groups


def test_long_text_goes_on_below_itself() -> None:
    lines = labelled("Label", "word " * 40)
    assert len(lines) > 2
    assert lines[0].startswith("  Label ")
    assert all(len(line) <= WIDTH for line in lines)
    assert {line.index("word") for line in lines} == {lines[0].index("word")}
    assert labelled("Label", "") == ["  Label"]


def test_a_figure_keeps_its_percent_sign() -> None:
    for length in range(50, 62):
        lines = labelled("Label", "x" * length + " 12.3 % more")
        assert "12.3 %" in " ".join(lines)
        assert all(not line.lstrip().startswith("%") for line in lines)
        assert "\u00a0" not in "".join(lines)


def test_a_note_stands_at_the_edge_or_below() -> None:
    (line,) = entry("1.0 %", "name", "note")
    assert (len(line), line.split()) == (WIDTH, ["1.0", "%", "name", "note"])
    lines = entry("1.0 %", "n" * 60, "a longer note")
    assert [line.strip() for line in lines] == ["1.0 %  " + "n" * 60, "a longer note"]
    assert entry("1.0 %", "name")[0].endswith("name")


def test_paragraphs_hang() -> None:
    lines = paragraph("word " * 40)
    assert lines[0].startswith("  word")
    assert lines[1].startswith("    word")


def test_tiles_in_words() -> None:
    tokens = ["4c", "1d", "9b", "N", "E", "W", "S", "green", "red", "white", "F", "J", "?"]
    assert all_in_words(tokens) == (
        "4 crak, 1 dot, 9 bam, north wind, east wind, west wind, south wind, green dragon, red dragon, "
        "white dragon, flower, joker, ?"
    )
    assert all_in_words([]) == "nothing"
    assert tile_words("4x") == "4x"
    assert tokens_in_groups(["F", "F", "4c", "F"]) == "F F  4c  F"
    assert tokens_in_groups([]) == "none"


def test_numbers() -> None:
    assert [percent(x) for x in (0.0, 1e-9, 0.0005, 0.12345, 1.0)] == [
        "0.0 %",
        "under 0.1 %",
        "0.1 %",
        "12.3 %",
        "100.0 %",
    ]
    assert [fine(x) for x in (0.0, 1e-9, 0.5)] == ["0.0000", "under 0.0001", "0.5000"]
    assert [plain(x) for x in (0, 1e-7, 2.0, 6.5e-8)] == ["0", "0.0000001", "2", "0.000000065"]
    assert [counted(1, "hand"), counted(1043, "hand"), counted(2, "dozen", "dozen")] == [
        "1 hand",
        "1,043 hands",
        "2 dozen",
    ]
