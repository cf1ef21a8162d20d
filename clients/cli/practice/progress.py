"""``threepass progress``: how practice goes, from the log alone."""

from __future__ import annotations

from pathlib import Path

import click

from clients.cli.exits import NOT_WRITTEN, UsageFault
from clients.cli.output import complain, say


@click.command()
@click.option("--log", metavar="FILE", help="Read this log, not the one in your data folder.")
@click.option("--plot", metavar="FILE.svg", help="Draw time and what was given up into this file.")
@click.option(
    "--by",
    type=click.Choice(["lap", "day"]),
    default="lap",
    show_default=True,
    help="One row a lap or day.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the figures in JSON.")
@click.pass_context
def progress(context: click.Context, log: str | None, plot: str | None, by: str, as_json: bool) -> None:
    """Show how practice goes: time, expected hands given up, passes as good as the best, tiles away.

    No server is needed. Lines of the log that are torn or not of threepass are named on stderr and left
    out. Exit codes: 0 shown, 2 wrong usage or a log that cannot be read, 5 the plot could not be written.
    """
    import json

    from clients.cli.practice.log_reading import LoggedLap, read_log
    from clients.cli.practice.log_writing import default_path
    from clients.cli.practice.plot import plot_of, write_whole
    from clients.cli.practice.trend import in_json, rows_of, trend_of
    from clients.cli.practice.trend_text import progress_text

    skipped: list[int] = []

    def skip(number: int, why: str) -> None:
        skipped.append(number)
        complain(f"line {number} of the log left out: {why}")

    path = default_path() if log is None else Path(log)
    found: list[LoggedLap] = []
    try:
        # Before the first lap the log of one's own is not there yet; one that was named should be.
        if log is not None or path.exists():
            found = read_log(path, skip)
    except (OSError, ValueError) as error:
        raise UsageFault([f"{path}: {getattr(error, 'strerror', None) or error}"]) from None
    laps = [lap for lap in found if lap.finished]
    left = len(found) - len(laps)
    rows, trend = rows_of(laps, by == "day"), trend_of(laps)
    if as_json:
        say(json.dumps(in_json(rows, trend, left, len(skipped))))
    elif laps:
        say(progress_text(rows, trend, laps, left))
    else:
        say(f"no finished laps in {path}")
    if plot is not None:
        if not rows:
            raise UsageFault(["--plot: no finished laps to draw"])
        try:
            write_whole(Path(plot), plot_of(rows, by))
        except (OSError, ValueError) as error:
            complain(f"--plot: {plot}: {getattr(error, 'strerror', None) or error}")
            context.exit(NOT_WRITTEN)
