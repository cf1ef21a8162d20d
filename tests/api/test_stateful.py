"""Answers that go into the next request: cards by the names listed, deals and sheets as answered."""

from typing import Any

import schemathesis
from hypothesis import HealthCheck, settings

from api.app import create_app
from api.settings import Settings
from tests.benchmarks.fuzz import fault_of

DEALT = {"rack": "$response.body#/deals/0/rack", "round": "first_right", "card": "small", "effort": 0.05}
# What a client does with an answer; the API keeps nothing, so its description needs no links.
LINKS: dict[tuple[str, str], dict[str, dict[str, Any]]] = {
    ("/v1/cards", "get"): {
        "ShowFirst": {"operationId": "show_card", "parameters": {"name": "$response.body#/cards/0/name"}}
    },
    ("/v1/deals", "post"): {
        "AskAboutADeal": {"operationId": "advice", "requestBody": DEALT},
        "PlanADeal": {"operationId": "plans", "requestBody": DEALT},
    },
    ("/v1/sheets", "post"): {
        "PrintIt": {
            "operationId": "sheet_pages",
            "requestBody": {"sheet": "$response.body", "format": "csv", "part": "key"},
        }
    },
}
# Found in every run; the others only by luck, as few made-up requests for deals and sheets are good ones.
TAKEN_AGAIN = {"/v1/cards/{name}"}


def test_answers_feed_requests() -> None:
    app = create_app(Settings(threads=2, max_effort=0.05))
    schema = schemathesis.openapi.from_asgi("/openapi.json", app)
    for (path, method), links in LINKS.items():
        schema.raw_schema["paths"][path][method]["responses"]["200"]["links"] = links
    chained: set[str] = set()

    class Workflow(schema.as_state_machine()):  # type: ignore[misc]
        def validate_response(self, response: Any, case: Any, **_: Any) -> None:
            assert fault_of(response.status_code, response.content) is None, response.text
            if response.status_code == 200:
                chained.add(case.path)

    Workflow.run(
        settings=settings(
            max_examples=60,
            stateful_step_count=6,
            deadline=None,
            database=None,
            derandomize=True,
            suppress_health_check=list(HealthCheck),
        )
    )
    assert chained >= TAKEN_AGAIN, "what was answered was taken again"
