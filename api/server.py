"""Running the server."""

from __future__ import annotations

import os

import uvicorn

from api.settings import PREFIX, Settings


def serve(host: str, port: int, workers: int = 1) -> None:
    """Serve until interrupted.

    Args:
        host: Address to listen on.
        port: Port to listen on.
        workers: Server processes, 1 or more; the cores are shared out among them.

    Raises:
        FaultySettingsError: settings in the environment that cannot be read.
    """
    settings = Settings.from_environment()
    if workers > 1:
        # Worker processes read their settings themselves, from the environment they inherit.
        os.environ.setdefault(f"{PREFIX}THREADS", str(max(1, settings.threads // workers)))
    uvicorn.run(
        "api.app:create_app",
        factory=True,
        host=host,
        port=port,
        workers=workers,
        timeout_graceful_shutdown=round(settings.grace),
        server_header=False,
    )
