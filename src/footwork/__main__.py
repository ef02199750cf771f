"""The program: ``footwork``, and ``python -m footwork``.

Whoever presses Ctrl-C while the first modules are read, or when all has been said, gets no traceback either.
"""

from __future__ import annotations

import os
import signal
import sys
from contextlib import suppress


def run() -> None:
    """Run the command that the process was started with, and leave with its status at once.

    All that a command has begun is over when it ends; what the interpreter would still do takes time, and an
    interrupt in it would be told at length.
    """
    status: object = 128 + signal.SIGINT
    with suppress(KeyboardInterrupt):
        try:
            from footwork.cli import main

            main()
        except SystemExit as leave:
            status = leave.code
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.SIG_IGN)
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError, ValueError):
            stream.flush()
    os._exit(status if isinstance(status, int) else 0)


if __name__ == "__main__":
    run()
