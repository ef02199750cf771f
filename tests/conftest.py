"""What holds for all tests."""

from __future__ import annotations

import signal


def pytest_configure() -> None:
    """Signals do what they do at a terminal, also for tests started in the background.

    Some tests press Ctrl-C, and programs that they start inherit what is ignored.
    """
    signal.signal(signal.SIGINT, signal.default_int_handler)
    for name in ("SIGHUP", "SIGTERM"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.SIG_DFL)
