"""The command itself, serving a copy of a scenario, for tests that talk to it as a browser does."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

FOOTWORK = (str(Path(sys.executable).with_name("footwork")),)
LINE = re.compile(r"(http://127\.0\.0\.1:(\d+)/[\w-]{30,}/) \(Ctrl-C ends it\)\n")


@dataclass(frozen=True)
class Served:
    """A running command: its process and the address that it printed."""

    process: subprocess.Popen[str]
    url: str
    port: int

    def interrupt(self) -> tuple[int, str, str]:
        """Ctrl-C: how it leaves, and what else it printed."""
        self.process.send_signal(signal.SIGINT)
        return self.left()

    def left(self) -> tuple[int, str, str]:
        """How it leaves by itself, and what else it printed."""
        out, err = self.process.communicate(timeout=20)
        return self.process.returncode, out, err


@contextmanager
def serving(path: Path, browser: Mapping[str, str] | None = None) -> Iterator[Served]:
    """``footwork open`` on a file; ended if it has not ended by itself.

    ``browser`` is the environment in which it looks for one; None: it does not.  What is not saved is kept
    beside the file.
    """
    environment = {
        **(os.environ if browser is None else browser),
        "XDG_STATE_HOME": str(path.parent / "state"),
    }
    command = [*FOOTWORK, "open", str(path), *(["--no-browser"] if browser is None else [])]
    pipe = subprocess.PIPE
    with subprocess.Popen(command, stdout=pipe, stderr=pipe, text=True, env=environment) as process:
        try:
            assert process.stdout is not None
            found = LINE.fullmatch(process.stdout.readline())
            assert found, process.communicate(timeout=20)
            yield Served(process, found[1], int(found[2]))
        finally:
            if process.poll() is None:
                process.kill()
