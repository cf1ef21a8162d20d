import pytest

from patterns.card import Trait, traits_of
from patterns.expand import expand
from patterns.notation import parse_groups, parse_where


@pytest.mark.parametrize(
    ("groups", "where", "traits"),
    [
        ("2p*4 6q*4 8p*4 flower*2", None, {Trait.EVENS}),
        ("1p*4 5q*4 9p*4 white*2", None, {Trait.ODDS}),
        ("3p*4 6q*4 9p*4 wind*2", None, {Trait.THREES}),
        ("3p*4 9q*4 flower*6", None, {Trait.THREES, Trait.ODDS, Trait.FIVES}),
        ("6p*4 6q*4 6r*4 flower*2", None, {Trait.THREES, Trait.EVENS, Trait.ONE_NUMBER}),
        ("np*4 (n+1)q*4 (n+2)p*4 flower*2", None, {Trait.CONSECUTIVE}),
        ("np*4 (n+1)q*4 (n+2)p*4 flower*2", "n in 7..7", {Trait.CONSECUTIVE}),
        ("np*4 (n+1)q*4 flower*4 north*2", None, set()),
        ("np*4 (n+1)q*4 (n+3)p*4 flower*2", None, set()),
        ("np*4 nq*4 nr*4 flower*2", None, {Trait.ONE_NUMBER}),
        ("np*4 nq*4 nr*4 flower*2", "n even", {Trait.ONE_NUMBER, Trait.EVENS}),
        ("np*4 nq*4 nr*4 flower*2", "n in 3..5 and n odd", {Trait.ONE_NUMBER, Trait.ODDS}),
        ("np*4 dragon(p)*4 flower*4 wind*2", None, set()),
        ("wind1*4 wind2*4 dragon*4 flower*2", None, {Trait.HONOURS}),
        ("wind1*4 wind2*4 1p*4 flower*2", None, {Trait.ODDS}),
        ("1p*2 4p*2 7p*2 1q*2 4q*2 7q*2 flower*2", None, {Trait.PAIRS_ONLY}),
        ("1p*1 4p*1 7p*2 1q*2 4q*2 7q*2 flower*2 north*2", None, {Trait.PAIRS_ONLY}),
        ("1p*2 4p*2 7p*2 1q*2 4q*3 flower*3", None, set()),
        ("4p*5 1q*5 flower*4", None, {Trait.FIVES}),
        ("4p*6 1q*4 flower*4", None, {Trait.FIVES}),
    ],
)
def test_traits(groups: str, where: str | None, traits: set[Trait]) -> None:
    targets = expand(parse_groups(groups), None if where is None else parse_where(where))
    assert traits_of(targets) == traits


def test_a_trait_is_one_that_every_target_has() -> None:
    targets = expand(parse_groups("np*4 nq*4 flower*6"), None)
    one = [target for target in targets if any(tile.rank == 2 for tile, _, _ in target.needs)]
    assert len(one) == 3
    assert Trait.EVENS in traits_of(one)
    assert Trait.EVENS not in traits_of(targets)
