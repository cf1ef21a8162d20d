"""Input made up: near to the description with a fixed seed, and shapes of any kind.

A bounded run of what tests/benchmarks/fuzz.py does at length.
"""

import random
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, seed, settings
from schemathesis.specs.openapi.checks import positive_data_acceptance

from api.http.app import create_app
from api.service import Service
from api.settings import Settings
from tests.benchmarks.fuzz import MAKERS, made_up

SCHEMA = schemathesis.openapi.from_asgi(
    "/openapi.json", create_app(Settings(threads=2, hosts=("testserver",)))
).exclude(path="/v1/batches")  # lines are made up by no tool
# Each member at each of its bounds are thousands of requests.
SCHEMA.config.phases.coverage.enabled = False


@pytest.mark.long
@SCHEMA.parametrize()
@seed(20251125)
@settings(max_examples=25, deadline=None, database=None, suppress_health_check=list(HealthCheck))
def test_every_operation_keeps_to_the_description(case: schemathesis.Case[Any]) -> None:
    response = case.call(timeout=60)
    if response.status_code == 413:
        # Refused before its shape is looked at, which the checks do not know of.
        assert len(response.request.body) > Settings().body_limit
        return
    # A schema cannot say which texts are tiles or which limits agree, so valid by it may still be refused.
    case.validate_response(response, excluded_checks=[positive_data_acceptance])


@pytest.mark.parametrize("kind", MAKERS)
def test_made_up_input_never_fails_the_service(kind: str) -> None:
    chance, service = random.Random(f"{kind} 20251125"), Service(Settings(threads=1))
    seen = set()
    for _ in range(100):
        case = made_up(chance, kind)
        reply = service.answer("POST", case.path, case.body)
        assert reply.status < 500, case
        seen.add(reply.status)
    assert seen >= {200, 400, 422}, "near to good ones, and far from any"
