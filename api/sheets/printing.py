"""PDF from a page of HTML, by WeasyPrint in a process of its own, which can be ended."""

from __future__ import annotations

import logging
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor, wait
from hashlib import sha256
from threading import Thread
from time import sleep

from patterns.stopping import check_stop

# How often is looked whether the work is to end, and whether who wanted it still lives.
_GLANCE = 0.1
_NOT_INSTALLED = 3


def pdf(page: bytes) -> bytes:
    """Return a page of HTML as PDF/UA: the same page gives the same bytes.

    Raises:
        ProblemError: there is no WeasyPrint, or not the libraries it draws text with.
        StoppedError: the work is to end.
        RuntimeError: drawing failed.
    """
    command = [sys.executable, "-m", "api.sheets.printing"]
    pipe = subprocess.PIPE
    with (
        subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=pipe) as process,
        ThreadPoolExecutor(1) as aside,
    ):
        drawing = aside.submit(process.communicate, page)
        try:
            while not wait([drawing], timeout=_GLANCE).done:
                check_stop()
        except BaseException:
            process.kill()
            raise
        made, said = drawing.result()
    if process.returncode == _NOT_INSTALLED:
        # Loads the solver, which the process that draws has no use for.
        from api.problems import Kind, ProblemError

        detail = "PDF needs WeasyPrint and Pango on the server: ask for html, which prints the same pages"
        raise ProblemError(Kind.NOT_INSTALLED, detail)
    if process.returncode:
        raise RuntimeError(f"no PDF ({process.returncode}): {said.decode(errors='replace')}")
    return made


def drawn(page: bytes) -> bytes:
    """Return the PDF, drawn in this process."""
    from weasyprint import HTML
    from weasyprint.urls import URLFetcher

    digest = sha256(page).hexdigest()[:32]
    # A page has all it needs inside.
    content = HTML(string=page.decode(), url_fetcher=URLFetcher(allowed_protocols=("data",))).write_pdf(
        pdf_variant="pdf/ua-1", pdf_identifier=digest.encode()
    )
    assert isinstance(content, bytes)
    return content


def _end_with(parent: int) -> None:
    while os.getppid() == parent:
        sleep(_GLANCE)
    os._exit(1)


def main() -> None:
    """Draw what comes in; what cannot be drawn of it, such as a letter no font has, nobody reads of."""
    Thread(target=_end_with, args=(os.getppid(),), daemon=True).start()
    logging.getLogger("weasyprint").addHandler(logging.NullHandler())
    logging.getLogger("weasyprint").propagate = False
    try:
        import weasyprint  # noqa: F401
    except (ImportError, OSError):
        sys.exit(_NOT_INSTALLED)
    sys.stdout.buffer.write(drawn(sys.stdin.buffer.read()))


if __name__ == "__main__":
    main()
