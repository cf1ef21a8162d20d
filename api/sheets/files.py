"""One file of a sheet."""

from __future__ import annotations

from dataclasses import dataclass

from api.sheets.pages import page
from api.sheets.pdf import pdf
from api.sheets.table import table
from api.wire.sheets import Form, PagesRequest

MEDIA_TYPES = {Form.HTML: "text/html", Form.PDF: "application/pdf", Form.CSV: "text/csv"}


@dataclass(frozen=True)
class SheetFile:
    """A file: what to call it, what it is, what is in it."""

    name: str
    media_type: str
    content: bytes


def file_of(asked: PagesRequest) -> SheetFile:
    """Make the file asked for.

    Raises:
        NotInstalledError: PDF, and what makes it is not installed.
    """
    name = f"{asked.part.value}.{asked.format.value}"
    return SheetFile(name, MEDIA_TYPES[asked.format], _content(asked))


def _content(asked: PagesRequest) -> bytes:
    if asked.format is Form.CSV:
        return table(asked.sheet, asked.part)
    made = page(asked.sheet, asked.part, asked.paper)
    return pdf(made) if asked.format is Form.PDF else made.encode()
