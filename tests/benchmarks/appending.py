"""Long measurements in a file of JSON Lines: what is finished is kept, and the same command goes on."""

from __future__ import annotations

import hashlib
import json
import sys
import time
from collections.abc import Callable
from multiprocessing import Pool
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]


class OtherRunError(Exception):
    """The file was made by another request or other code."""


def code_digest() -> str:
    """Return a digest of all code and cards that a game depends on."""
    digest = hashlib.sha256()
    for folder in ("patterns", "solver"):
        for path in sorted((ROOT / folder).rglob("*")):
            if path.suffix in (".py", ".toml", ".lark"):
                digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def finished(path: Path, header: dict[str, Any]) -> set[int]:
    """Return the numbers of the games in a file; a torn last line is cut off, an absent header written.

    Raises:
        OtherRunError: the file's header is another.
    """
    with path.open("a+b") as file:
        file.seek(0)
        text = file.read()
        whole = text[: text.rfind(b"\n") + 1]
        lines = whole.decode().splitlines()
        if lines and json.loads(lines[0]) != header:
            raise OtherRunError(f"{path.name} was made by another run: {lines[0]}")
        file.truncate(len(whole))
        if not lines:
            file.write((json.dumps(header) + "\n").encode())
    return {json.loads(line)["game"] for line in lines[1:]}


def append_games(
    path: Path, header: dict[str, Any], games: int, play: Callable[[int], dict[str, Any]], jobs: int
) -> None:
    """Play the games that a file does not have yet, and append each as soon as it is finished.

    Args:
        path: The file; its first line is the header, each other line a game with its number as ``game``.
        header: What was asked.
        games: How many the file is to have, numbered from 0.
        play: Plays one; it must be picklable.
        jobs: Processes.

    Raises:
        OtherRunError: the file's header is another.
        SystemExit: interrupted, with 130; what is finished is kept.
    """
    done = finished(path, header)
    left = [number for number in range(games) if number not in done]
    begun = time.monotonic()
    with path.open("a", encoding="utf-8") as file, Pool(jobs) as pool:
        try:
            for count, game in enumerate(pool.imap_unordered(play, left), start=1):
                file.write(json.dumps(game, separators=(",", ":")) + "\n")
                file.flush()
                if count % 20 == 0 or count == len(left):
                    pace = (time.monotonic() - begun) / count
                    print(
                        f"\r{len(done) + count}/{games} games, {pace:.2f} s each,"
                        f" {pace * (len(left) - count) / 60:.1f} min left",
                        end="",
                        file=sys.stderr,
                    )
        except KeyboardInterrupt:
            print("\nstopped; what is finished is kept", file=sys.stderr)
            raise SystemExit(130) from None
    print(file=sys.stderr)
