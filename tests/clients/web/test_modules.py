"""Modules of the page against the program's own: tiles are read and numbers written alike."""

import random
from typing import Any

import pytest
from playwright.sync_api import Page

from clients.cli.practice.rounds import rounds_of
from clients.cli.practice.tiles import TOKENS
from clients.cli.practice.typed import pass_of
from clients.cli.render.words import fine, hands, percent, plain, tile_words, tokens_in_groups
from clients.cli.times import clock
from patterns.faults import FaultyInputError
from patterns.rack import parse_tiles
from patterns.tiles import TILE_OF_CHARACTER
from tests.clients.web.conftest import Visit

PIECES = [
    *TOKENS, *TILE_OF_CHARACTER, "12", "455", "b", " c", "dots", "craks", "BAM", "soap", "gr", "re", "wh",
    "joker", "Flowers", " ", " ", ", ", ";", "\t", "0", "x", "+", "new", "s", "east", "\u00a0", "\u212a",
]  # fmt: skip
ROUNDS = 12


@pytest.fixture
def page(visit: Visit) -> Page:
    return visit.go()


def called(page: Page, module: str, name: str, each: list[Any]) -> list[Any]:
    """Call a function of a module with each of a list of arguments."""
    answers = page.evaluate(
        "async ([module, name, each]) => {"
        " const found = await import(module);"
        " return each.map((all) => found[name](...all)); }",
        [f"/js/{module}.js", name, each],
    )
    assert len(answers) == len(each)
    return list(answers)


def test_typed_tiles_are_read_as_the_service_reads_them(page: Page) -> None:
    rng = random.Random(5)
    texts = ["".join(rng.choices(PIECES, k=rng.randrange(9))) for _ in range(3000)]
    texts += [" ".join(rng.choices(TOKENS, k=14)) for _ in range(100)]
    right = 0
    for text, read in zip(
        texts, called(page, "tiles/reading", "readTiles", [[each] for each in texts]), strict=True
    ):
        try:
            expected = [tile.value for tile in parse_tiles(text)]
        except FaultyInputError:
            assert read["unknown"], text
        else:
            right += 1
            assert (read["tokens"], read["unknown"]) == (expected, []), text
    assert 300 < right < len(texts)


def test_tiles_are_named_and_ordered_alike(page: Page) -> None:
    assert called(page, "tiles/kinds", "tileWords", [[token] for token in TOKENS]) == [
        *map(tile_words, TOKENS)
    ]
    shuffled = random.Random(1).sample(TOKENS, len(TOKENS))
    assert called(page, "tiles/kinds", "inOrder", [[shuffled]]) == [list(TOKENS)]
    groups = [["2b", "2b", "E", "F", "F"], ["J"], []]
    expected = [tokens_in_groups(group) for group in groups]
    assert called(page, "tiles/kinds", "inGroups", [[group] for group in groups]) == expected


def test_numbers_are_written_alike(page: Page) -> None:
    rng = random.Random(7)
    numbers = [
        0,
        1,
        0.5,
        0.0625,
        0.000625,
        0.0005,
        0.00005,
        0.0499999,
        0.15,
        0.25,
        59.95,
        119.95,
        0.0001220703125,
    ]
    numbers += [rng.random() * 10 ** rng.randrange(-9, 1) for _ in range(1000)]
    numbers += [rng.randrange(400_000) / 1000 for _ in range(1000)]
    numbers += [rng.randrange(1 << 12) / (1 << rng.randrange(1, 12)) for _ in range(500)]
    for name, written in {
        "percent": percent,
        "fine": fine,
        "hands": hands,
        "plain": plain,
        "clock": clock,
    }.items():
        shown = called(page, "shared/words", name, [[number] for number in numbers])
        assert shown == [written(number) for number in numbers], name


def test_the_rules_of_a_pass_are_the_terminals(page: Page) -> None:
    assert called(page, "practise/rules", "roundsOf", [[n, False] for n in range(1, ROUNDS + 1)]) == [
        list(rounds_of(n)) for n in range(1, ROUNDS + 1)
    ]
    rng = random.Random(3)
    rack = ["2b", "2b", "4c", "5c", "7d", "E", "E", "E", "red", "F", "F", "J", "J", "9d"]
    cases = []
    for _ in range(600):
        given = rng.choices([*rack, "1b"], k=rng.randrange(5))
        cases.append((given, rng.randrange(5), rng.choice(rounds_of(6))))
    faults = called(
        page, "practise/rules", "passFaults", [[given, blind, rack, each] for given, blind, each in cases]
    )
    allowed = 0
    for (given, blind, each), told in zip(cases, faults, strict=True):
        made, _ = pass_of(" ".join(given) + (f" +{blind}" if blind else ""), rack, each)
        assert (made is not None) == (told == []), (given, blind, each, told)
        allowed += made is not None
    assert allowed > 20
