import sys

from fastapi.testclient import TestClient
from threadpoolctl import threadpool_info

from api.app import create_app


def cores_of_a_product() -> set[int]:
    return {pool["num_threads"] for pool in threadpool_info() if pool["user_api"] == "blas"}


def test_while_it_runs_an_answer_has_one_core_and_its_thread_gives_way() -> None:
    before = cores_of_a_product(), sys.getswitchinterval()
    with TestClient(create_app()):
        assert cores_of_a_product() == {1}
        assert sys.getswitchinterval() < before[1]
    assert (cores_of_a_product(), sys.getswitchinterval()) == before
