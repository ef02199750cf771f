"""footwork open: the plan in the browser, to move things about in."""

from __future__ import annotations

from pathlib import Path

import click

from footwork.cli import output
from footwork.cli.options import file_argument, layout_option


@click.command("open", short_help="Make a shed and move things about in the browser; the metres follow.")
@file_argument
@layout_option
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=0,
    metavar="N",
    help="Serve it on this port.  [default: any that is free]",
)
@click.option("--no-browser", is_flag=True, help="Only print the address; open no browser.")
def command(file: Path, layout: str | None, port: int, no_browser: bool) -> int:
    """Open the plan in the browser, on this machine alone, and move things about in it.

    A FILE that does not exist starts empty: the room is made by its walls' lengths, doors, windows, posts and
    stations are put in by clicking on the plan, and a job by clicking its stations in the order one goes. One
    with faults shows them, and the plan once they are mended.

    Drag a thing, or choose it and use the arrow keys; R turns it. Its clear distances stand under the plan:
    type over one, and it stands there. The metres and hours a year, each job's metres and the checks that
    fail follow; they are those of `footwork score`. What is saved goes into FILE, where things stand as a
    layout under a name. What is not saved is kept and offered when FILE is opened again.

    Nothing leaves the machine: the page is served on 127.0.0.1, at an address that nobody else knows. Ctrl-C
    or the page's own button ends it.
    """
    from footwork.page.keeping.opening import opened
    from footwork.page.server import serve

    found = opened(file, layout)
    if found.text is None:
        output.note(f"{file}: there is no such file yet: it starts empty, and is written when it is saved")
    if found.problems:
        several = len(found.problems) > 1
        what, shown, mended = (f"{len(found.problems)} faults", "them", "they are") if several else (
            "a fault", "it", "it is"
        )  # fmt: skip
        output.note(f"{file}: it has {what}: the page shows {shown}, and the plan once {mended} mended")
    serve(found, port, _say, _leave if no_browser else _show)
    return 0


def _say(url: str) -> None:
    click.echo(f"{url} (Ctrl-C ends it)")


def _show(url: str) -> None:
    import webbrowser

    if not webbrowser.open(url):
        output.note("no browser could be opened: open the address above in one")


def _leave(url: str) -> None:
    """Whoever asked for no browser opens it."""
