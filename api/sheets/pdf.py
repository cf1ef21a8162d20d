"""Pages as PDF, by WeasyPrint: the same page gives the same bytes."""

from __future__ import annotations

from hashlib import sha256
from threading import Lock

from api.problems import NotInstalledError

# One at a time: a long sheet takes much memory, and Pango is not made for many threads.
_ONE = Lock()


def pdf(page: str) -> bytes:
    """Return a page of HTML as PDF/UA.

    Raises:
        NotInstalledError: there is no WeasyPrint, or not the libraries it draws text with.
    """
    try:
        from weasyprint import HTML
        from weasyprint.urls import URLFetcher
    except (ImportError, OSError):
        detail = "PDF needs WeasyPrint and Pango on the server: ask for html, which prints the same pages"
        raise NotInstalledError(detail) from None
    digest = sha256(page.encode()).hexdigest()[:32]
    with _ONE:
        # No protocol is allowed: a page has all it needs inside.
        made = HTML(string=page, url_fetcher=URLFetcher(allowed_protocols=())).write_pdf(
            pdf_variant="pdf/ua-1", pdf_identifier=digest.encode()
        )
    assert isinstance(made, bytes)
    return made
