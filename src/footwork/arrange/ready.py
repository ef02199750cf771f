"""Compiled code made ready by other processes, once on a machine, while this one begins to help.

The first run on a machine compiles for a minute or more and keeps the result on disk; later ones load it in a
second.  None of that is to be taken from the time a person gives the search, nor need they wait for it: what
walks and checks is compiled in seconds, and with that alone things can be moved one by one (``early.py``).
Compiling holds Python's lock, so a second core serves only other processes: one compiles the tree, another
what the search needs and then what both have a part in (``practice.py``).
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from typing import Literal

from footwork.compiled.functions import is_kept, known

Stage = Literal["search", "tree"]
"""What is ready: all that finds layouts, then all that bounds them."""

COUNTED = "footwork.arrange."
LEFT_OUT = "footwork.arrange.assignment."
"""Modules whose functions are counted when it is said how much is compiled, and those left out of them."""


def needed() -> list[Callable[..., object]]:
    """The compiled functions that ``suggest`` needs, of the modules imported so far."""
    return [f for f in known() if f.__module__.startswith(COUNTED) and not f.__module__.startswith(LEFT_OUT)]


def share_kept() -> float:
    """Part of those that lie on disk, made from today's source; all where nothing is compiled at all."""
    functions = needed()
    return sum(map(is_kept, functions)) / len(functions) if functions else 1.0


class Ready:
    """What of the compiled code is ready: all of it, or as much as ever will be without this process.

    ``kept``: it lay on disk from the start, and only has to be loaded.
    """

    def __init__(self, kept: bool = False) -> None:
        self.kept = kept

    def reached(self, stage: Stage) -> bool:
        """Whether a stage is ready, or nobody else works on it any more."""
        del stage
        return True

    def begin(self) -> None:
        """What this process compiles by itself is on disk: others may go on from there."""

    def wait(self) -> None:
        """Until all of it is."""

    def close(self) -> None:
        """Nobody asks any more."""


class Compiling(Ready):
    """Two processes that compile: ``module`` run as a program with the name of a stage (``practice.py``)."""

    def __init__(self, module: str) -> None:
        super().__init__()
        self._module = module
        self._reached = {"search": threading.Event(), "tree": threading.Event()}
        self._processes = [self._start("tree")]

    def _start(self, stage: Stage) -> subprocess.Popen[str]:
        command, pipe = [sys.executable, "-m", self._module, stage], subprocess.PIPE
        return subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL, text=True)

    def begin(self) -> None:
        try:
            self._processes.append(self._start("search"))
        except OSError:
            self._over()
        else:
            threading.Thread(target=self._listen, args=self._processes, daemon=True).start()

    def _listen(self, tree: subprocess.Popen[str], search: subprocess.Popen[str]) -> None:
        """Hear of the search; once the tree is on disk too let the same process go on with that."""
        assert search.stdout is not None
        assert search.stdin is not None
        search.stdout.readline()
        self._reached["search"].set()
        tree.wait()
        with suppress(OSError):
            search.stdin.write("\n")
            search.stdin.flush()
        search.wait()
        self._over()

    def _over(self) -> None:
        """All is ready, or nobody is left who would make it so: the rest is compiled when it is called."""
        for event in self._reached.values():
            event.set()

    def reached(self, stage: Stage) -> bool:
        return self._reached[stage].is_set()

    def wait(self) -> None:
        self._reached["tree"].wait()

    def close(self) -> None:
        for process in self._processes:
            process.kill()
            process.wait()


def compile_apart(module: str) -> Ready:
    """Let other processes compile, where anything is left to compile and a core is free for it."""
    kept = share_kept() == 1.0
    if kept or (os.cpu_count() or 1) < 2 or not sys.executable:
        return Ready(kept)
    try:
        return Compiling(module)
    except OSError:
        return Ready()


def follow_parent() -> threading.Event:
    """An event for each line of the process that started this one; when that has gone, this one ends."""
    said = threading.Event()

    def listen() -> None:
        for _ in sys.stdin:
            said.set()
        os._exit(1)

    threading.Thread(target=listen, daemon=True).start()
    return said
