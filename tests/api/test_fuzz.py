"""The whole description, fuzzed in-process with a fixed seed."""

from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, seed, settings
from schemathesis.specs.openapi.checks import positive_data_acceptance

from api.app import create_app
from api.settings import Settings

SCHEMA = schemathesis.openapi.from_asgi("/openapi.json", create_app(Settings(threads=2)))


@pytest.mark.long
@SCHEMA.parametrize()
@seed(20251125)
@settings(max_examples=40, deadline=None, database=None, suppress_health_check=list(HealthCheck))
def test_every_operation_keeps_to_the_description(case: schemathesis.Case[Any]) -> None:
    # A schema cannot say which texts are tiles or which limits agree, so valid by it may still be refused.
    case.call_and_validate(excluded_checks=[positive_data_acceptance])
