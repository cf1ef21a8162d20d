"""The command `threepass`: each file is one concept; `main` puts the commands together."""

import signal


def start() -> None:
    """Load the command and run it; until all is loaded Ctrl-C ends it at once and without a word."""
    heeded = signal.getsignal(signal.SIGINT)
    if heeded is signal.default_int_handler:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    from clients.cli.main import main

    signal.signal(signal.SIGINT, heeded)
    main()
