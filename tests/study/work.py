"""Small cases for the tests of the engine: each writes down that it was begun."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path
from typing import Any


def square(number: int, begun: str, seconds: float = 0.0) -> dict[str, Any]:
    with Path(begun).open("a") as file:
        file.write(f"{number}\n")
    time.sleep(seconds)
    return {"square": number * number, "infinite": float("inf")}


def killed_once(number: int, begun: str, mark: str) -> int:
    """Kills its own process the first time."""
    with Path(begun).open("a") as file:
        file.write(f"{number}\n")
    if number == 1 and not Path(mark).exists():
        Path(mark).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def always_killed() -> int:
    os.kill(os.getpid(), signal.SIGKILL)
    return 0
