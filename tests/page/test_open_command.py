"""footwork open: one line, one machine, and how it ends."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import urllib.error
import urllib.request
from contextlib import suppress
from pathlib import Path

import pytest

from page.serving import FOOTWORK, serving

NOOK = Path(__file__).parents[2] / "scenarios" / "frame-nook.toml"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return Path(shutil.copy(NOOK, tmp_path / "nook.toml"))


def test_one_line_with_the_address_and_ctrl_c_leaves_with_0(path: Path) -> None:
    with serving(path) as served:
        with urllib.request.urlopen(served.url) as page:
            assert b"main.js" in page.read()
        assert served.interrupt() == (0, "", "")


def test_a_second_machine_cannot_reach_it(path: Path) -> None:
    """At any other address of this machine nobody listens."""
    others = set()
    with suppress(socket.gaierror):  # a machine that does not know its own name
        others = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}
    with serving(path) as served:
        for address in {*others, "127.0.0.2"} - {"127.0.0.1"}:
            with pytest.raises(OSError):
                socket.create_connection((str(address), served.port), timeout=2).close()


def test_without_the_token_there_is_nothing(path: Path) -> None:
    with serving(path) as served, pytest.raises(urllib.error.HTTPError, match="404"):
        urllib.request.urlopen(f"http://127.0.0.1:{served.port}/")


def test_without_a_browser_it_says_so_and_serves(path: Path) -> None:
    nowhere = {"PATH": "", "HOME": os.environ.get("HOME", "")}
    with serving(path, browser=nowhere) as served:
        with urllib.request.urlopen(served.url) as page:
            assert page.status == 200
        note = "no browser could be opened: open the address above in one\n"
        assert served.interrupt() == (0, "", note)


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([*FOOTWORK, "open", *arguments], capture_output=True, text=True, timeout=60)


def test_a_port_in_use_is_one_line(path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        done = run(str(path), "--no-browser", "--port", str(port))
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        f"footwork: --port {port}: it cannot be had: address already in use; "
        "give another, or none to take any that is free\n"
    )


@pytest.mark.parametrize(
    ("text", "options", "words"),
    [
        ("in no folder", (), "there is no such folder"),
        ("a folder", (), "it is a folder"),
        ("without a layout", ("--layout", "today"), "no layout"),
        ("", ("--layout", "nowhere"), "nowhere"),
        ("", ("--port", "70000"), "70000"),
    ],
)
def test_bad_input_is_told_before_anything_is_served(
    path: Path, text: str, options: tuple[str, ...], words: str
) -> None:
    if text == "in no folder":
        path = path.parent / "nowhere" / path.name
    elif text == "a folder":
        path = path.parent
    elif text == "without a layout":
        path.write_text(path.read_text(encoding="utf-8").partition("[layouts.")[0], encoding="utf-8")
    done = run(str(path), "--no-browser", *options)
    assert (done.returncode, done.stdout) == (2, "")
    assert words in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("text", "note"),
    [
        (None, "there is no such file yet: it starts empty, and is written when it is saved"),
        ("name = [", "it has a fault: the page shows it, and the plan once it is mended"),
        (
            "[room]\nsise = [5, 4]\nwall = 1",
            "it has 2 faults: the page shows them, and the plan once they are mended",
        ),
    ],
    ids=["no file", "no TOML", "faults"],
)
def test_what_is_no_scenario_yet_is_served_all_the_same(path: Path, text: str | None, note: str) -> None:
    path.unlink()
    if text is not None:
        path.write_text(text, encoding="utf-8")
    with serving(path) as served:
        with urllib.request.urlopen(served.url) as page:
            assert b"main.js" in page.read()
        assert served.interrupt() == (0, "", f"{path}: {note}\n")
    assert path.exists() == (text is not None)
