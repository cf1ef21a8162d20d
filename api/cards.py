"""Cards that are ready for use: equal cards are one object, so that tables made from it are found again."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256
from threading import Lock

from patterns.card import Card
from patterns.card_file import CardForm, build_card, card_from_toml, shipped_card, shipped_names


@dataclass(frozen=True)
class NamedCard:
    """A card and what requests call it; a card of a user goes by its title."""

    name: str
    card: Card


class CardShelf:
    """The practice cards, and the cards that users sent last. Safe to use from many threads.

    Expanding a card takes up to seconds: call it in the thread pool.
    """

    def __init__(self, kept: int) -> None:
        self._kept = kept
        self._lock = Lock()
        self._shipped: dict[str, Card] = {}
        self._sent: OrderedDict[bytes, Card] = OrderedDict()

    def shipped(self, name: str) -> NamedCard:
        """Return a practice card.

        Raises:
            KeyError: there is none of that name.
        """
        with self._lock:
            if name not in self._shipped:
                self._shipped[name] = shipped_card(name)
            return NamedCard(name, self._shipped[name])

    def all_shipped(self) -> list[NamedCard]:
        """Return the practice cards in the order of their names."""
        return [self.shipped(name) for name in shipped_names()]

    def from_form(self, form: CardForm) -> NamedCard:
        """Expand a card that was written out.

        Raises:
            FaultyInputError: every hand that cannot be made.
        """
        return self._sent_card("form", form.model_dump_json(), lambda: build_card(form))

    def from_toml(self, text: str, file: str) -> NamedCard:
        """Read and expand a card written in TOML.

        Raises:
            FaultyInputError: all faults, each with the file's name and its line.
        """
        return self._sent_card("toml", text, lambda: card_from_toml(text, file))

    def _sent_card(self, sort: str, content: str, make: Callable[[], Card]) -> NamedCard:
        digest = sha256(f"{sort} {content}".encode("utf-8", "surrogatepass")).digest()
        with self._lock:
            card = self._sent.get(digest)
        if card is None:
            card = make()
        with self._lock:
            # Another thread may have been faster: its object is the one that others already use.
            card = self._sent.setdefault(digest, card)
            self._sent.move_to_end(digest)
            while len(self._sent) > self._kept:
                self._sent.popitem(last=False)
        return NamedCard(card.name, card)
