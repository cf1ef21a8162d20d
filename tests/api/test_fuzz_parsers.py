"""A bounded run of what tests/benchmarks/fuzz.py does at length, and shapes that Hypothesis makes up."""

import asyncio
import json
import random
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from api.app import create_app
from api.settings import Settings
from tests.benchmarks.cases import LOOK_ALIKES, MAKERS, RACK_WORDS, Case, made_up
from tests.benchmarks.fuzz import fault_of, send

LIGHT = Settings(threads=1, max_effort=0.01)
BOUNDED = settings(
    max_examples=150, deadline=None, database=None, derandomize=True, suppress_health_check=list(HealthCheck)
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
    "effort",
    "toml",
)


@pytest.mark.parametrize("kind", MAKERS)
def test_made_up_input_never_fails_the_server(kind: str) -> None:
    chance = random.Random(f"{kind} 20251125")
    app = create_app(LIGHT)

    async def run() -> set[int]:
        seen = set()
        async with app.router.lifespan_context(app):
            for _ in range(150):
                case = made_up(chance, kind)
                status, body = await send(app, case)
                assert fault_of(status, body) is None, case
                seen.add(status)
        return seen

    assert asyncio.run(run()) >= {200, 400, 422}, "near to good ones, and far from any"


@BOUNDED
@given(path=st.sampled_from(PATHS), members=st.dictionaries(st.sampled_from(MEMBERS), JUNK))
def test_any_members_of_any_shape(light: TestClient, path: str, members: dict[str, Any]) -> None:
    body = json.dumps(members).encode()
    response = light.post(path, content=body, headers={"content-type": "application/json"})
    assert response.status_code in ((200, 400, 422) if path == "/v1/cards/check" else (400, 422))


@BOUNDED
@given(
    words=st.lists(
        st.sampled_from([*RACK_WORDS, *LOOK_ALIKES]) | st.text(max_size=6), min_size=1, max_size=30
    )
)
def test_any_text_for_a_rack(light: TestClient, words: list[str]) -> None:
    body = {"rack": " ".join(words), "round": "courtesy", "card": "small", "give": 0}
    response = light.post(
        "/v1/advice", content=json.dumps(body), headers={"content-type": "application/json"}
    )
    assert response.status_code in (200, 422)
    if response.status_code == 422:
        assert all(item["pointer"].startswith("#/rack") for item in response.json()["errors"])


@pytest.fixture(scope="module")
def light() -> Any:
    with TestClient(create_app(LIGHT)) as client:
        yield client


def test_a_case_is_what_was_written() -> None:
    case = Case("/v1/advice", b'{"rack":\n1}\n\n')
    assert Case.read(case.written) == case


def test_what_is_a_fault() -> None:
    no_answer = b'{"type": "urn:threepass:problem:no-answer"}'
    assert fault_of(503, no_answer) is None
    assert fault_of(503, b'{"type": "urn:threepass:problem:busy"}') == "status-503"
    assert fault_of(500, b"{}") == "status-500"
    assert fault_of(422, b"") is None


@pytest.mark.long
@pytest.mark.skipif(find_spec("atheris") is None, reason="needs the extra fuzz")
def test_the_parsers_under_a_coverage_guided_fuzzer(tmp_path: Path) -> None:
    script = Path(__file__).parents[1] / "benchmarks" / "fuzz_parsers.py"
    seeds, failures = tmp_path / "seeds", tmp_path / "failures"
    failures.mkdir()
    subprocess.run([sys.executable, str(script), "--seeds", str(seeds)], check=True, timeout=60)
    options = ["-runs=3000", "-seed=1", f"-artifact_prefix={failures}/", str(seeds)]
    ran = subprocess.run(
        [sys.executable, str(script), *options], capture_output=True, text=True, check=False, timeout=300
    )
    assert ran.returncode == 0, ran.stderr
    assert "Done 3000" in ran.stderr
    assert list(failures.iterdir()) == []
