"""Deal racks of a seed until one is found whose best first pass takes a pair apart.

python examples/deal_until.py SEED [URL]      without a URL a service is started for it and ended
"""

import sys
from collections.abc import Callable, Iterator

from threepass import Client
from threepass.answers import Deal

_AT_ONCE = 10


def dealt(client: Client, seed: int, card: str = "small") -> Iterator[Deal]:
    """Yield the deals of a seed in order, without end, each with its best first pass."""
    start = 0
    while True:
        yield from client.deals(seed, start=start, count=_AT_ONCE, card=card, answers=True).deals
        start += _AT_ONCE


def first(deals: Iterator[Deal], wanted: Callable[[Deal], bool]) -> Deal:
    """Return the first deal that is wanted."""
    return next(deal for deal in deals if wanted(deal))


def takes_a_pair_apart(deal: Deal) -> bool:
    """Return whether one of two like tiles goes and the other stays."""
    passed = deal.passed or []
    return any(deal.rack.count(tile) == 2 and passed.count(tile) == 1 for tile in passed)


if __name__ == "__main__":
    seed, *url = sys.argv[1:]
    with Client(url[0]) if url else Client.local() as client:
        found = first(dealt(client, int(seed)), takes_a_pair_apart)
        print(f"deal {found.index} of seed {seed}: {' '.join(found.rack)}")
        print(f"best pass: {' '.join(found.passed or [])}")
