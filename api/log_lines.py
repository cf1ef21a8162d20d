"""The server's log: JSON lines, one object a line, without what clients wrote."""

from __future__ import annotations

import json
import logging
import traceback
from datetime import UTC, datetime
from typing import Any

MEMBERS = "threepass"
# Their messages quote nothing that was sent.
_OWN = ("uvicorn", "threepass")


class JsonLines(logging.Formatter):
    """Writes each record as one line of JSON (ASCII, so that no encoding can spoil it).

    Errors nobody foresaw may quote a request in their messages, and so may what libraries log. By default
    only the error's type is written, and where it was raised, and a library's message before its blanks
    are filled in; asyncio quotes errors in the lines after its first, which are left out too.

    Args:
        details: Write the messages too.
    """

    def __init__(self, details: bool) -> None:
        super().__init__()
        self._details = details

    def format(self, record: logging.LogRecord) -> str:
        """Return the line, without its end."""
        entry: dict[str, object] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": self._message(record),
            **getattr(record, MEMBERS, {}),
        }
        error = record.exc_info[1] if record.exc_info else None
        if error is not None:
            entry["error"] = type(error).__name__
            entry["trace"] = self._trace(error)
        return json.dumps(entry, default=str)

    def _message(self, record: logging.LogRecord) -> str:
        if self._details:
            return record.getMessage()
        own = record.name.partition(".")[0] in _OWN
        return (record.getMessage() if own else str(record.msg)).partition("\n")[0]

    def _trace(self, error: BaseException) -> str:
        if self._details:
            return "".join(traceback.format_exception(error))
        told: list[str] = []
        seen: set[int] = set()
        cause: BaseException | None = error
        while cause is not None and id(cause) not in seen:
            seen.add(id(cause))
            frames = traceback.format_list(traceback.extract_tb(cause.__traceback__))
            told.insert(0, "".join([*frames, f"{type(cause).__name__}\n"]))
            cause = cause.__cause__ or cause.__context__
        return "\n".join(told)


def log_config(details: bool) -> dict[str, Any]:
    """Return the configuration of `logging.config` for a server: everything on stderr as JSON lines."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"lines": {"()": JsonLines, "details": details}},
        "handlers": {
            "stderr": {"class": "logging.StreamHandler", "formatter": "lines", "stream": "ext://sys.stderr"}
        },
        "root": {"handlers": ["stderr"], "level": "WARNING"},
        "loggers": {name: {"level": "INFO"} for name in _OWN},
    }
