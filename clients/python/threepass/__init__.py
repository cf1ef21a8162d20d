"""What should I pass? A client of the service of threepass, for Python.

Needs an HTTP client (httpx2) and pydantic, and nothing else::

    from threepass import Client

    with Client.local() as client:  # or Client("http://127.0.0.1:8347")
        advice = client.advice("2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J", "first_right")
        print(advice.passed, advice.strength)

`AsyncClient` is the same to await. What is refused is a `ProblemError`, and no answer an `UnreachableError`.
"""

from threepass import answers
from threepass.client import AsyncClient, Client
from threepass.problems import Problem, ProblemError, UnreachableError

__all__ = ["AsyncClient", "Client", "Problem", "ProblemError", "UnreachableError", "answers"]
