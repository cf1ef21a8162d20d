import json
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer

import pytest
from click.testing import Result

from clients.cli import transport
from clients.cli.exits import UnreachableError, UsageFault
from clients.cli.transport import Service

BUSY = json.dumps({"title": "Busy", "status": 503, "detail": "all threads work", "errors": []}).encode()


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

    with HTTPServer(("127.0.0.1", 0), Handler) as server:
        thread = threading.Thread(target=server.serve_forever, args=(0.01,))
        thread.start()
        try:
            yield f"http://127.0.0.1:{server.server_port}", asked
        finally:
            server.shutdown()
            thread.join()


def test_a_busy_service_that_says_when_is_asked_again() -> None:
    with (
        answering([(503, {"retry-after": "0"}, BUSY), (200, {}, b"{}")]) as (url, asked),
        Service(url) as service,
    ):
        assert service.get("/v1/cards").body == b"{}"
    assert asked == ["/v1/cards", "/v1/cards"]


def test_it_is_not_asked_for_ever(run: Callable[..., Result], rack: str) -> None:
    with answering([(503, {"retry-after": "0"}, BUSY)]) as (url, asked):
        result = run("advise", rack, "--round", "courtesy", "--server", url)
    assert (result.exit_code, result.stdout, result.stderr) == (1, "", "all threads work\n")
    assert len(asked) == 4


@pytest.mark.parametrize(
    ("status", "headers"),
    [
        (503, {}),
        (503, {"retry-after": "11"}),
        (503, {"retry-after": "9" * 5000}),
        (503, {"retry-after": "-1"}),
        (503, {"retry-after": "Wed, 21 Oct 2026 07:28:00 GMT"}),
        (429, {"retry-after": "0"}),
        (500, {"retry-after": "0"}),
    ],
)
def test_nothing_else_is_tried_again(status: int, headers: dict[str, str]) -> None:
    with answering([(status, headers, BUSY)]) as (url, asked), Service(url) as service:
        reply = service.post("/v1/advice", b"{}")
    assert (reply.status, reply.body, reply.ok) == (status, BUSY, False)
    assert len(asked) == 1


def test_a_base_path_is_kept() -> None:
    with answering([(200, {}, b"{}")]) as (url, asked), Service(f"{url}/tiles/") as service:
        service.get("/v1/cards")
    assert asked == ["/tiles/v1/cards"]


@pytest.mark.parametrize(
    "url", ["", "here", "ftp://here", "http://", "http://here?x=1", "http://here:port", "\n"]
)
def test_what_is_no_server_is_wrong_usage(url: str) -> None:
    with pytest.raises(UsageFault, match="--server: not the URL of a server"):
        Service(url)


@pytest.mark.parametrize(
    "arguments", [("cards", "list"), ("cards", "show", "small"), ("advise", "F", "--round", "courtesy")]
)
@pytest.mark.parametrize("body", [b"<html>", b'{"hello": "there"}', b"[]"])
def test_another_server_is_no_service(
    run: Callable[..., Result], arguments: tuple[str, ...], body: bytes
) -> None:
    with answering([(200, {}, body)]) as (url, _):
        result = run(*arguments, "--server", url)
    assert (result.exit_code, result.stdout) == (3, "")
    assert result.stderr == "the answer is not one of threepass: is the URL right?\n"


def test_no_server_at_all(free_port: Callable[[], int]) -> None:
    url = f"http://127.0.0.1:{free_port()}"
    with Service(url) as service, pytest.raises(UnreachableError, match=f"^no answer from {url}: ."):
        service.get("/livez")


def test_the_service_in_this_process_answers_over_http_too() -> None:
    with Service(None) as service:
        alive = service.get("/livez")
        nowhere = service.get("/nowhere")
    assert (alive.status, json.loads(alive.body)["status"]) == (200, "alive")
    assert (nowhere.status, json.loads(nowhere.body)["type"]) == (404, "urn:threepass:problem:not-found")


def test_a_service_that_cannot_start_is_not_reached(
    run: Callable[..., Result], monkeypatch: pytest.MonkeyPatch
) -> None:
    async def refuse(_: object) -> None:
        raise RuntimeError("no room")

    monkeypatch.setattr(transport.Lifespan, "start", refuse)
    result = run("cards", "list")
    assert (result.exit_code, result.stderr) == (3, "the service cannot start here: no room\n")
