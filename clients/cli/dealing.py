"""Finding deals: in several requests, so that none takes long and what is found is told at once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clients.cli.exits import INTERRUPTED
from clients.cli.held import held
from clients.cli.lines import encoded
from clients.cli.output import complain, say, write_body
from clients.cli.problems import answer_of, not_threepass
from clients.cli.progress import Progress
from clients.cli.render.deals import deal_text
from clients.cli.render.words import counted
from clients.cli.transport import Service

# The service takes no more deals at once; a request that tries so many takes about ten seconds.
MOST_DEALS, MOST_TRIED = 50, 100


def find_deals(wish: Mapping[str, Any], count: int, budget: int, service: Service, as_json: bool) -> int:
    """Find deals, print them, and return the exit code. An interruption keeps those that were found.

    Args:
        wish: The request without ``count`` and ``budget``; ``seed`` and ``start`` must be there.
        count: Deals wanted, 1 or more.
        budget: Most deals to try, 1 or more.
        service: Where to ask.
        as_json: Print one JSON object; it is the service's answer as it came when one request was enough.

    Raises:
        RefusedError: the service refused.
        UnreachableError: no answer; deals printed before stay.
    """
    progress = Progress(one="deal", done="tried")
    found: list[Any] = []
    bodies: list[bytes] = []
    tried = 0
    interrupted = False
    try:
        while len(found) < count and tried < budget:
            asked = {
                **wish,
                "start": wish["start"] + tried,
                "count": min(count - len(found), MOST_DEALS),
                "budget": min(budget - tried, MOST_TRIED),
            }
            reply = service.post("/v1/deals", encoded(asked))
            if as_json and not reply.ok:
                write_body(reply.body)
            answer = answer_of(reply)
            pages = _pages(answer)
            # What is printed is counted too, whenever the interruption comes.
            with held():
                if not as_json and pages:
                    say("\n".join(pages))
                found += answer["deals"]
                tried += answer["tried"]
                bodies.append(reply.body)
                progress.count(True, answer["tried"])
    except KeyboardInterrupt:
        interrupted = True
    complete = len(found) >= count
    if as_json:
        whole = {"deals": found, "complete": complete, "tried": tried, "seed": wish["seed"]}
        write_body(bodies[0] if len(bodies) == 1 and not interrupted else encoded(whole))
    progress.end(interrupted)
    if interrupted:
        return INTERRUPTED
    if not complete:
        complain(f"only {len(found)} of {counted(count, 'deal')} found: the budget was {budget:,}")
    return 0


def _pages(answer: Mapping[str, Any]) -> list[str]:
    try:
        # An answer that tried nothing would be asked for again without end.
        if answer["tried"] < 1:
            raise not_threepass()
        return [deal_text(each) for each in answer["deals"]]
    except (LookupError, TypeError, ValueError, AttributeError):
        raise not_threepass() from None
