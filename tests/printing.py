"""Tests of PDF files need WeasyPrint and the libraries it draws text with; CI must have them."""

import os

import pytest


def needs_weasyprint() -> None:
    """Skip the test, or the module that calls this, where no PDF can be made."""
    try:
        import weasyprint  # noqa: F401
    except (ImportError, OSError) as error:
        if os.environ.get("THREEPASS_BROWSER") == "required":
            raise
        pytest.skip(f"no PDF here: {error}", allow_module_level=True)
