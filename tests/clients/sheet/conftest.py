from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

Run = Callable[..., Result]


@pytest.fixture
def make(run: Run, tmp_path: Path) -> Callable[..., tuple[Result, dict[str, bytes]]]:
    """Make a sheet of the small card, and return how it went and the files by name."""

    def call(*arguments: str, out: str = "out", **more: Any) -> tuple[Result, dict[str, bytes]]:
        folder = tmp_path / out
        result = run("sheet", "--card", "small", "--out", str(folder), *arguments, **more)
        files = {path.name: path.read_bytes() for path in folder.iterdir()} if folder.is_dir() else {}
        return result, files

    return call
