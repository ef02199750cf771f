"""Signals that come while something must not be left half done."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time

import pytest

from footwork.compiled.signals import let_through, sent_again, undisturbed

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals")


def press() -> None:
    os.kill(os.getpid(), signal.SIGINT)


def test_what_is_begun_is_finished_first() -> None:
    done: list[str] = []

    def work() -> None:
        with undisturbed():
            with undisturbed():
                press()
                done.append("inner")
            done.append("outer")

    before = signal.getsignal(signal.SIGINT)
    with pytest.raises(KeyboardInterrupt):
        work()
    assert done == ["inner", "outer"]
    assert signal.getsignal(signal.SIGINT) is before


def test_a_moment_to_stop() -> None:
    done: list[str] = []

    def work() -> None:
        with undisturbed():
            press()
            done.append("before")
            let_through()
            done.append("after")

    with pytest.raises(KeyboardInterrupt):
        work()
    assert done == ["before"]
    let_through()  # nothing waits any more


def test_what_would_end_the_process_still_does() -> None:
    text = (
        "import os, signal\n"
        "from footwork.compiled.signals import undisturbed\n"
        "with undisturbed():\n"
        "    os.kill(os.getpid(), signal.SIGTERM)\n"
        "    print('finished', flush=True)\n"
        "print('never', flush=True)\n"
    )
    done = subprocess.run([sys.executable, "-c", text], capture_output=True, text=True, check=False)
    assert (done.stdout, done.returncode) == ("finished\n", -signal.SIGTERM)


def test_an_interrupt_that_breaks_into_a_destructor_comes_again() -> None:
    class Last:
        def __del__(self) -> None:
            press()
            time.sleep(0.0)  # here it reaches the program, and is dropped

    def work() -> None:
        Last()
        time.sleep(10)

    with pytest.raises(KeyboardInterrupt), sent_again():
        work()
