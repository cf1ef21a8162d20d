"""``threepass serve``: the page and the service on this machine, said in plain words to who started it."""

from __future__ import annotations

import errno
import io
import json
import os
import signal
import socket
import sys
import time
import webbrowser
from pathlib import Path
from threading import Thread

import click

from clients.cli.options import whole
from clients.cli.output import Exit, Failure, say, write_body
from clients.cli.service import CARDS_FOLDER, cards_folder

PAGES = Path(__file__).parents[1] / "web"
PORT = 8347
_LOOPBACK, _EVERY = "127.0.0.1", "0.0.0.0"
# An address for documentation (RFC 5737): asking for the way to it sends nothing.
_ELSEWHERE = ("192.0.2.1", 9)
_CAUTION = (
    "Whoever is in this network can open the page and have this computer answer. Use it in a network that you"
    " trust, and stop it when you are done."
)


@click.command()
@click.option("--host", default=_LOOPBACK, show_default=True, metavar="ADDRESS", help="Address to listen on.")
@whole("--port", "Port.", 0, 65535, default=PORT)
@click.option("--lan", is_flag=True, help="Let phones and others in your network open the page too.")
@click.option("--no-browser", is_flag=True, help="Do not open the page in a browser.")
@whole("--workers", "Server processes; the cores are shared out among them.", 1, 64, default=1)
@click.option(
    "--cards",
    "folder",
    type=click.Path(path_type=Path),
    help="Folder of more cards, a TOML file each; by default `cards` in your data folder.",
)
@click.option(
    "--describe", is_flag=True, help="Write the service's OpenAPI description to stdout and serve nothing."
)
@click.option(
    "--until-input-ends", is_flag=True, help="End when standard input does, with the program that started it."
)
def serve(
    host: str,
    port: int,
    lan: bool,
    no_browser: bool,
    workers: int,
    folder: Path | None,
    describe: bool,
    until_input_ends: bool,
) -> None:
    """Answer over HTTP until stopped; the web page is at /.

    In a terminal it says where the page is and opens it in your browser. Where stderr is no terminal, each
    request is a line of JSON there.
    """
    if describe:
        from api.service import describe as description

        write_body(json.dumps(description(), indent=1).encode() + b"\n")
        return
    from api.http.server import serve as run

    if until_input_ends:
        Thread(target=_end_with_input, daemon=True).start()
    host = _EVERY if lan else host
    _check_free(host, port)
    person = _somebody_reads()
    here = (
        f"http://{_LOOPBACK if host in (_EVERY, _LOOPBACK) else f'[{host}]' if ':' in host else host}:{port}/"
    )
    if person or lan:
        say(f"The page is at {here}\nTo stop it, press Ctrl+C here.")
    if lan:
        say(_for_the_network(port))
    if person and not no_browser:
        Thread(target=_open, args=(here, port), daemon=True).start()
    # Worker processes inherit it.
    os.environ[CARDS_FOLDER] = str(folder or cards_folder())
    try:
        run(host, port, workers, PAGES, person)
    except ValueError as error:  # a setting in the environment is faulty
        raise Failure(Exit.USAGE, str(error)) from None


def _end_with_input() -> None:
    while os.read(0, 4096):
        pass
    os.kill(os.getpid(), signal.SIGTERM)


def _somebody_reads() -> bool:
    return sys.stderr.isatty()


def _check_free(host: str, port: int) -> None:
    """Fail if somebody listens there already."""
    if port == 0:
        return
    try:
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        socket.create_server((host, port), family=family).close()
    except OSError as error:
        # What else may be wrong with the address is told when it is listened on.
        if error.errno == errno.EADDRINUSE:
            says = f"port {port} is in use: stop what uses it (threepass?), or add --port {port + 1}"
            raise Failure(Exit.USAGE, says) from None


def _for_the_network(port: int) -> str:
    """Return the address for others in the network, the same as a QR code, and a caution."""
    import segno

    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(_ELSEWHERE)
            address = f"http://{probe.getsockname()[0]}:{port}/"
    except OSError:
        return f"This computer seems to be in no network. {_CAUTION}"
    drawn = io.StringIO()
    segno.make(address, error="l").terminal(drawn, border=2, compact=True)
    return f"On a phone in the same network: {address}\n\n{drawn.getvalue()}\n{_CAUTION}"


def _open(page: str, port: int) -> None:
    """Open the page as soon as somebody answers there."""
    for _ in range(200):
        try:
            socket.create_connection((_LOOPBACK, port), timeout=1).close()
        except OSError:
            time.sleep(0.1)
        else:
            webbrowser.open(page)
            return
