"""The API's description (OpenAPI 3.1). ``python -m api.openapi`` prints it as it is committed."""

from __future__ import annotations

import json
import sys
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from fastapi.routing import iter_route_contexts
from pydantic import BaseModel
from pydantic.json_schema import JsonSchemaMode, models_json_schema

from api.declare import Body, body_of
from api.wire.problem import Problem

_ABOUT = """\
Stateless JSON. Every error is a problem of RFC 9457 that names all faults with JSON pointers. Any request
may carry an id in `x-request-id` (up to 64 letters, digits, `.`, `_`, `-`); every answer carries one."""
_OF_FRAMEWORK = ("HTTPValidationError", "ValidationError")
_REF = "#/components/schemas/{model}"


def describe(app: FastAPI) -> None:
    """Let the application describe bodies and problems as they really are, made once on demand."""

    def openapi() -> dict[str, Any]:
        if app.openapi_schema is None:
            app.openapi_schema = _description(app)
        return app.openapi_schema

    app.openapi = openapi  # type: ignore[method-assign]


def _description(app: FastAPI) -> dict[str, Any]:
    description = get_openapi(
        title=app.title, version=app.version, summary=app.summary, description=_ABOUT, routes=app.routes
    )
    bodies = {
        route.name: body for route in iter_route_contexts(app.routes) if (body := body_of(route.endpoint))
    }
    for path in description["paths"].values():
        for operation in path.values():
            if operation["operationId"] in bodies:
                operation["requestBody"] = _request_body(bodies[operation["operationId"]])
            # A path parameter is any text, so the framework's own refusal cannot occur.
            if "application/json" in operation["responses"].get("422", {}).get("content", {}):
                del operation["responses"]["422"]
    schemas = description["components"]["schemas"]
    for name in _OF_FRAMEWORK:
        schemas.pop(name, None)
    schemas.update(_schemas([*(body.model for body in bodies.values()), Problem]))
    description["components"]["schemas"] = dict(sorted(schemas.items()))
    return description


def _request_body(body: Body) -> dict[str, Any]:
    content = {
        "schema": {"$ref": _REF.format(model=body.model.__name__)},
        "examples": {name: {"value": example} for name, example in body.examples.items()},
    }
    return {"required": True, "content": {"application/json": content}}


def _schemas(models: list[type[BaseModel]]) -> dict[str, Any]:
    wanted: list[tuple[type[BaseModel], JsonSchemaMode]] = [(model, "validation") for model in models]
    _, together = models_json_schema(wanted, ref_template=_REF)
    definitions: dict[str, Any] = together["$defs"]
    return definitions


def as_committed(app: FastAPI) -> str:
    """Return the description as the text of `api/openapi.json`."""
    return json.dumps(app.openapi(), indent=2, ensure_ascii=False) + "\n"


def main() -> None:
    """Print the description."""
    from api.app import create_app
    from api.settings import Settings

    sys.stdout.write(as_committed(create_app(Settings())))


if __name__ == "__main__":
    main()
