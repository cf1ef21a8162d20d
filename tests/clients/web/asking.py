"""What the service itself answers, to hold the page against."""

from typing import Any

import httpx2


def post(server: str, path: str, **body: object) -> dict[str, Any]:
    """Return the service's own answer."""
    reply = httpx2.post(f"{server}{path}", json=body, trust_env=False, timeout=60)
    assert reply.status_code == 200, reply.text
    answer: dict[str, Any] = reply.json()
    return answer
