"""Asking the service, in this process and over HTTP, and what its answers and refusals become."""

import json
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from typing import Any

import pytest
from threepass.problems import place_of

from clients.cli.output import Exit, Failure
from clients.cli.service import Reply, Service, decoded
from tests.clients.conftest import OWN_CARD, RACK, Run
from tests.clients.laps import OTHER, impossible, json_lines, lap, short

BUSY = json.dumps({"title": "Busy", "status": 503, "detail": "all threads work", "errors": []}).encode()
SMALL = ("--card", "small", "--round", "first-right")
REVIEWS = [
    *(b"<html>", b"{}", b'{"reviews": []}', b'{"reviews": [{"seconds": 1e999}]}', b'{"reviews": [3]}'),
    b'{"reviews": [{}], "session": {}}',
]
FOREIGN = "the answer is not one of threepass: is the URL right?\n"


@contextmanager
def listening(handler: Callable[..., BaseHTTPRequestHandler]) -> Iterator[str]:
    """Serve by a handler in a thread; yield the URL."""
    with HTTPServer(("127.0.0.1", 0), handler) as server:
        thread = threading.Thread(target=server.serve_forever, args=(0.01,))
        thread.start()
        try:
            yield f"http://127.0.0.1:{server.server_port}"
        finally:
            server.shutdown()
            thread.join()


@contextmanager
def answering(answers: list[tuple[int, dict[str, str], bytes]]) -> Iterator[tuple[str, list[str]]]:
    """Serve the answers one after another, the last for ever; yield the URL and the paths asked for."""
    asked: list[str] = []

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            self.rfile.read(int(self.headers["content-length"]))
            self.do_GET()

        def do_GET(self) -> None:
            asked.append(self.path)
            status, headers, body = answers.pop(0) if len(answers) > 1 else answers[0]
            self.send_response(status)
            for name, value in {**headers, "content-length": str(len(body))}.items():
                self.send_header(name, value)
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            pass

    with listening(Handler) as url:
        yield url, asked


def test_a_busy_service_that_says_when_is_asked_again() -> None:
    answers = [(503, {"retry-after": "0"}, BUSY), (200, {}, b"{}")]
    with answering(answers) as (url, asked), Service(url) as service:
        assert service.ask("/v1/cards").body == b"{}"
    assert asked == ["/v1/cards", "/v1/cards"]


def test_it_is_not_asked_for_ever(run: Run, rack: str) -> None:
    with answering([(503, {"retry-after": "0"}, BUSY)]) as (url, asked):
        result = run("vote", rack, "--server", url)
    assert (result.exit_code, result.stdout, result.stderr) == (1, "", "all threads work\n")
    assert len(asked) == 4


@pytest.mark.parametrize(
    ("status", "headers"),
    [
        (503, {}),
        (503, {"retry-after": "11"}),
        (503, {"retry-after": "Wed, 21 Oct 2026 07:28:00 GMT"}),
        (429, {"retry-after": "0"}),
    ],
)
def test_nothing_else_is_tried_again(status: int, headers: dict[str, str]) -> None:
    with answering([(status, headers, BUSY)]) as (url, asked), Service(url) as service:
        reply = service.ask("/v1/advice", b"{}")
    assert (reply.status, reply.body, reply.ok) == (status, BUSY, False)
    assert len(asked) == 1


def test_a_base_path_is_kept() -> None:
    with answering([(200, {}, b"{}")]) as (url, asked), Service(f"{url}/tiles/") as service:
        service.ask("/v1/cards")
    assert asked == ["/tiles/v1/cards"]


@pytest.mark.parametrize("url", ["", "here", "ftp://here", "http://here?x=1", "http://here:port"])
def test_what_is_no_server_is_wrong_usage(url: str) -> None:
    with pytest.raises(Failure, match="--server: not the URL of a server") as caught, Service(url) as service:
        service.ask("/v1/cards")
    assert caught.value.exit_code == Exit.USAGE


@pytest.mark.parametrize(
    ("arguments", "stdin", "bodies"),
    [
        (("cards", "list"), None, [b"<html>", b'{"hello": "there"}', b"[]"]),
        (("cards", "show", "small"), None, [b"{}"]),
        (("advise", RACK, "--round", "courtesy"), None, [b"<html>", b"[]", b"{}"]),
        (("deal", "--seed", "1"), None, [b"{}", b"[]", b'{"deals": [{}], "tried": 1}']),
        (("sheet", "--seed", "1", "--out", "OUT"), None, [b"[]", b"{}", b'{"sheet": {}}', b'{"sheet": 5}']),
        (("vote", RACK), None, [b"{}"]),
        (("practice",), None, [b"{}", b'{"deals": [{}], "tried": 1}']),
        (("review", "-"), json.dumps(lap()), REVIEWS),
        (("review", "-"), json_lines(short(), short()), REVIEWS),
    ],
)
def test_another_server_is_no_service(
    run: Run, tmp_path: Path, arguments: Any, stdin: Any, bodies: list[bytes]
) -> None:
    for body in bodies:
        options = [str(tmp_path / "new") if each == "OUT" else each for each in arguments]
        with answering([(200, {}, body)]) as (url, _):
            result = run(*options, "--server", url, stdin=stdin)
        assert (result.exit_code, result.stdout, result.stderr) == (3, "", FOREIGN), body


@pytest.mark.parametrize(
    ("arguments", "stdin"),
    [
        (("advise", RACK, *SMALL, "--json"), None),
        (("advise", "3x", *SMALL), None),
        (("advise", "-", *SMALL), json_lines(RACK, OTHER)),
        (("vote", RACK, "--card", "small", "--samples", "8"), None),
        (("plan", RACK, *SMALL), None),
        (("review", "-"), json_lines(short(), impossible(), short())),
        (("deal", "--card", "small", "--seed", "4", "--count", "3", "--json"), None),
        *((("cards", *more), None) for more in (("list",), ("show", "small"), ("check", str(OWN_CARD)))),
    ],
)
def test_a_server_and_none(run: Run, server: str, nowhere: str, arguments: Any, stdin: Any) -> None:
    here, there = run(*arguments, stdin=stdin), run(*arguments, f"--server={server}", stdin=stdin)
    for name in ("exit_code", "stdout_bytes", "stderr"):
        assert getattr(here, name) == getattr(there, name)
    gone = run(*arguments, "--server", nowhere, stdin=stdin)
    assert (gone.exit_code, gone.stdout) == (3, "")
    assert gone.stderr.startswith(f"no answer from {nowhere}: ")


def test_a_service_that_cannot_start_is_not_reached(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("THREEPASS_THREADS", "many")
    result = run("cards", "list")
    assert (result.exit_code, result.stdout) == (3, "")
    assert result.stderr.startswith("the service cannot start here: ")
    assert "THREEPASS_THREADS" in result.stderr


@pytest.mark.parametrize(
    "content",
    [b"", b"no", b"NaN", b"[-Infinity]", b"1e999", b'{"a": -1e400}', b"\xff", b"[" * 100_000, b"1" * 5_000],
)
def test_what_is_not_json_is_refused(content: bytes) -> None:
    with pytest.raises(ValueError, match=r"."):
        decoded(content)


@pytest.mark.parametrize(
    ("pointer", "place"),
    [
        ("#/rack/12", "rack, item 13"),
        ("#/limits/weights/Copper%20Pans", "limits, weights, Copper Pans"),
        ("#/limits/weights/a~1b~0c", "limits, weights, a/b~c"),
        ("#/card/hand/3/groups", "card"),
        ("", ""),
    ],
)
def test_pointers_become_words(pointer: str, place: str) -> None:
    assert place_of(pointer) == place


def test_every_fault_is_one_line() -> None:
    errors = [
        {"pointer": "#/rack", "detail": "column 6: '3x' is not a tile", "type": "unknown-tile"},
        {"pointer": "#/give", "detail": "two\nlines", "type": "give"},
        {"pointer": "", "detail": "no place", "type": "x"},
    ]
    reply = Reply(422, json.dumps({"title": "Invalid", "errors": errors}).encode())
    assert reply.faults() == ["rack: column 6: '3x' is not a tile", "give: two lines", "no place"]


@pytest.mark.parametrize(
    ("body", "line"),
    [
        (b'{"detail": "busy now", "title": "Busy", "errors": []}', "busy now"),
        (b'{"title": "Busy"}', "Busy"),
        (b"<html>", "the server answered 502"),
        (b'{"errors": "none"}', "the server answered 502"),
        (b"[" * 100_000, "the server answered 502"),
    ],
)
def test_without_faults_the_problem_itself_is_the_line(body: bytes, line: str) -> None:
    assert Reply(502, body).faults() == [line]
