"""The whole description, fuzzed in-process with a fixed seed."""

from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, seed, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import positive_data_acceptance

from api.app import create_app
from api.settings import Settings

# Little effort, as some of what is made up is hard to solve; an answer without a proof must keep to it too.
SERVER = create_app(Settings(threads=2, max_effort=0.5))
SCHEMA = schemathesis.openapi.from_asgi("/openapi.json", SERVER)


@pytest.mark.long
@SCHEMA.parametrize()
@seed(20251125)
@settings(max_examples=40, deadline=None, database=None, suppress_health_check=list(HealthCheck))
def test_every_operation_keeps_to_the_description(case: schemathesis.Case[Any]) -> None:
    response = case.call()
    # A schema cannot say which texts are tiles or which limits agree, so valid by it may still be refused.
    excluded = [positive_data_acceptance]
    if response.status_code == 503:
        # Next to no effort may find no pass; nothing else is an excuse.
        assert response.json()["type"] == "urn:threepass:problem:no-answer"
        excluded.append(not_a_server_error)
    case.validate_response(response, excluded_checks=excluded)
