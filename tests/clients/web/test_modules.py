"""Modules of the page against the program's own: tiles are read alike, and the few numbers written alike."""

import random
from typing import Any

import pytest
from playwright.sync_api import Page

from api.service import clock, fine, percent
from patterns.faults import FaultyInputError
from patterns.rack import parse_tiles
from patterns.tiles import KINDS, TILE_OF_CHARACTER
from solver.rounds import RULES, Round
from tests.clients.web.conftest import Visit

TOKENS = [tile.value for tile in KINDS]
PIECES = [
    *TOKENS, *TILE_OF_CHARACTER, "12", "455", "b", " c", "dots", "craks", "BAM", "soap", "gr", "re", "wh",
    "joker", "Flowers", " ", " ", ", ", ";", "\t", "0", "x", "+", "new", "s", "east", "\u00a0", "\u212a",
    "east wind", "winds", " wind", "dragon", " dragons", "red dragon", "bamboo", "cracks", "1 bams", "\ufe0f",
]  # fmt: skip


@pytest.fixture
def page(visit: Visit) -> Page:
    return visit.go()


def called(page: Page, module: str, name: str, each: list[Any]) -> list[Any]:
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
        texts, called(page, "tiles/kinds", "readTiles", [[each] for each in texts]), strict=True
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
        tile.word for tile in KINDS
    ]
    shuffled = random.Random(1).sample(TOKENS, len(TOKENS))
    assert called(page, "tiles/kinds", "inOrder", [[shuffled]]) == [TOKENS]


def test_numbers_are_written_alike(page: Page) -> None:
    rng = random.Random(7)
    numbers = [0, 1, 0.5, 0.0625, 0.000625, 0.0005, 0.00005, 0.0499999, 0.15, 0.25, 59.95, 119.95, 2**-13]
    numbers += [rng.random() * 10 ** rng.randrange(-9, 1) for _ in range(1000)]
    numbers += [rng.randrange(400_000) / 1000 for _ in range(1000)]
    numbers += [rng.randrange(1 << 12) / (1 << rng.randrange(1, 12)) for _ in range(500)]
    for name, written in {"percent": percent, "fine": fine, "clock": clock}.items():
        shown = called(page, "shared/words", name, [[number] for number in numbers])
        assert shown == [written(number) for number in numbers], name


def test_the_rules_of_a_pass_are_the_services(page: Page) -> None:
    rounds = [each.value for each in Round]
    assert called(page, "shared/rounds", "roundsOf", [[6, True]]) == [rounds]
    (long,) = called(page, "shared/rounds", "roundsOf", [[12, False]])
    assert long == rounds[:6] * 2
    places = called(page, "shared/rounds", "placeWords", [[long, at] for at in (0, 5, 6, 11)])
    assert places == ["first right", "second right", "extra exchange 1, right", "extra exchange 6, right"]

    rng = random.Random(3)
    rack = ["2b", "2b", "4c", "5c", "7d", "E", "E", "E", "red", "F", "F", "J", "J", "9d"]
    cases = [
        (rng.choices([*rack, "1b"], k=rng.randrange(5)), rng.randrange(5), rng.choice(rounds))
        for _ in range(800)
    ]
    faults = called(
        page, "shared/rounds", "passFaults", [[given, blind, rack, each] for given, blind, each in cases]
    )
    allowed = 0
    for (given, blind, each), told in zip(cases, faults, strict=True):
        rule = RULES[Round(each)]
        held = all(given.count(token) <= rack.count(token) for token in given) and "J" not in given
        fits = len(given) + blind == 3 if rule.blind else blind == 0 and len(given) in rule.allowed
        assert (told == []) == (held and fits), (given, blind, each, told)
        allowed += told == []
    assert allowed > 30
