from collections.abc import Callable
from copy import deepcopy
from typing import Any

import pytest

from api.convert.pages import pages_of
from api.routes import examples
from api.wire.sheets import PagesRequest

Make = Callable[..., PagesRequest]


@pytest.fixture
def example() -> dict[str, Any]:
    """A sheet of one problem, as it goes over the wire."""
    sheet: dict[str, Any] = deepcopy(examples.SHEET_PAGES["key_as_table"]["sheet"])  # type: ignore[index]
    return sheet


@pytest.fixture
def asked(example: dict[str, Any]) -> Make:
    """Return a request for a file of that sheet so many times over, with members of it replaced."""

    def make(form: str, part: str = "key", paper: str = "a4", times: int = 1, **members: Any) -> PagesRequest:
        sheet = {**example, **members}
        for name in ("problems", "key"):
            sheet[name] = [
                {**each, "number": number} for number in range(1, times + 1) for each in sheet[name]
            ]
        return pages_of({"sheet": sheet, "format": form, "part": part, "paper": paper})

    return make
