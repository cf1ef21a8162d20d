"""Bad input that once did harm, or was made to, each a file: the address, then the body as it is sent.

`python -m tests.benchmarks.fuzz` writes its failures in this form; one that was fixed is kept here.
"""

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.benchmarks.cases import Case

CORPUS = sorted((Path(__file__).parent / "corpus").glob("*.case"))
# A check of a card finds faults in it: that is its answer.
TAKEN = {"/v1/cards/check": (200, 400)}


def test_there_is_a_corpus() -> None:
    assert len(CORPUS) >= 20


@pytest.mark.parametrize("file", CORPUS, ids=lambda file: file.stem)
def test_it_is_refused_in_words(client: TestClient, file: Path) -> None:
    case = Case.read(file.read_bytes())
    response = client.post(case.path, content=case.body, headers={"content-type": "application/json"})
    assert response.status_code in TAKEN.get(case.path, (400, 422)), response.text
    body = response.json()
    assert body.get("errors") or body.get("faults") or response.status_code == 400
    assert client.get("/livez").status_code == 200
