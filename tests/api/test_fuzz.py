"""Input made up: near to the description with a fixed seed, and shapes of any kind.

A bounded run of what tests/benchmarks/fuzz.py does at length.
"""

import json
import random
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st
from schemathesis.specs.openapi.checks import positive_data_acceptance
from starlette.testclient import TestClient

from api.http.app import create_app
from api.service import Service
from api.settings import Settings
from tests.api.asking import JSON, LOCAL
from tests.benchmarks.fuzz import MAKERS, made_up

SCHEMA = schemathesis.openapi.from_asgi(
    "/openapi.json", create_app(Settings(threads=2, hosts=("testserver",)))
).exclude(path="/v1/batches")  # lines are made up by no tool
# Each member at each of its bounds are thousands of requests.
SCHEMA.config.phases.coverage.enabled = False
BOUNDED = settings(
    max_examples=60, deadline=None, database=None, derandomize=True, suppress_health_check=list(HealthCheck)
)
JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)
PATHS = ("/v1/advice", "/v1/cards/check", "/v1/reviews", "/v1/plans", "/v1/votes", "/v1/deals", "/v1/sheets")
MEMBERS = (
    "rack",
    "round",
    "card",
    "records",
    "limits",
    "arrivals",
    "seed",
    "racks",
    "give",
    "toml",
)


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
    for _ in range(60):
        case = made_up(chance, kind)
        reply = service.answer("POST", case.path, case.body)
        assert reply.status < 500, case
        seen.add(reply.status)
    assert seen >= {200, 400, 422}, "near to good ones, and far from any"


@BOUNDED
@given(path=st.sampled_from(PATHS), members=st.dictionaries(st.sampled_from(MEMBERS), JUNK))
def test_any_members_of_any_shape(light: TestClient, path: str, members: dict[str, Any]) -> None:
    body = json.dumps(members).encode()
    response = light.post(path, content=body, headers=JSON)
    assert response.status_code in ((200, 400, 422) if path == "/v1/cards/check" else (400, 422))


@pytest.fixture(scope="module")
def light() -> Iterator[TestClient]:
    with TestClient(create_app(Settings(threads=1)), LOCAL) as client:
        yield client
