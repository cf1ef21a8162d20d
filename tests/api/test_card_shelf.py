from threading import Barrier, Thread

import pytest

from api.cards import CardShelf, NamedCard
from patterns.card_file import CardForm, read_form
from patterns.faults import FaultyInputError

TOML = '[card]\nname = "Mine"\n[[hand]]\nname = "a"\nfamily = "b"\ngroups = "np*4 (n+2)p*4 flower*6"\n'


def form(name: str = "Mine") -> CardForm:
    hand = {"name": "a", "family": "b", "groups": "np*4 (n+2)p*4 flower*6"}
    return read_form({"card": {"name": name}, "hand": [hand]})


def test_equal_cards_are_one_object() -> None:
    shelf = CardShelf(4)
    assert shelf.from_form(form()).card is shelf.from_form(form()).card
    assert shelf.from_toml(TOML, "x.toml").card is shelf.from_toml(TOML, "y.toml").card
    assert shelf.shipped("small").card is shelf.shipped("small").card
    assert shelf.from_form(form()).card is not shelf.from_form(form("Other")).card


def test_names() -> None:
    shelf = CardShelf(4)
    assert shelf.shipped("small").name == "small"
    assert shelf.from_form(form()).name == shelf.from_toml(TOML, "x").name == "Mine"
    assert [named.name for named in shelf.all_shipped()] == ["full", "small"]
    with pytest.raises(KeyError):
        shelf.shipped("../small")


def test_the_card_used_longest_ago_is_let_go() -> None:
    shelf = CardShelf(2)
    first, second = shelf.from_form(form("1")).card, shelf.from_form(form("2")).card
    assert shelf.from_form(form("1")).card is first
    shelf.from_form(form("3"))
    assert shelf.from_form(form("1")).card is first
    assert shelf.from_form(form("2")).card is not second


def test_a_faulty_card_is_refused_every_time_and_with_its_own_file() -> None:
    shelf = CardShelf(2)
    for file in ("x.toml", "y.toml"):
        with pytest.raises(FaultyInputError, match=file):
            shelf.from_toml(TOML.replace("flower*6", "flower*5"), file)


def test_threads_that_send_the_same_card_at_once_get_one_object() -> None:
    shelf, together, got = CardShelf(4), Barrier(4), list[NamedCard]()

    def send() -> None:
        together.wait(30)
        got.append(shelf.from_form(form()))

    threads = [Thread(target=send) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert len(got) == 4
    assert len({id(named.card) for named in got}) == 1
