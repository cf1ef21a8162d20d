"""A use of the client that openapi-python-client generates from the description, for a type checker."""

from threepass_client import Client
from threepass_client.api.advice import advice
from threepass_client.models import AdviceAnswer, AdviceRequest, Problem, Round, Tile


def pass_for(rack: str) -> list[Tile]:
    """Return the tiles to pass from a rack."""
    body = AdviceRequest(rack=rack, round_=Round.FIRST_RIGHT, card="small")
    with Client("http://127.0.0.1:8347") as client:
        answer = advice.sync(client=client, body=body)
    if isinstance(answer, Problem):
        raise ValueError([(fault.pointer, fault.type_.value) for fault in answer.errors])
    assert isinstance(answer, AdviceAnswer)
    assert Tile.JOKER not in answer.pass_
    return answer.pass_
