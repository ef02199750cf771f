"""Interrupts at random moments: ``python tests/fuzz/interrupts.py --times 200``.

Starts a command, sends it SIGINT or SIGTERM after a random while, and looks at what is left: that it leaves
within ``SECONDS``, with a status of the promise and no traceback; that no process of it goes on, no temporary
file stays, and the scenario file is the old one or a whole new one.  Prints the figures; leaves with 1 where
a promise was not held.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import uuid
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, suppress
from dataclasses import dataclass, field
from pathlib import Path

from websockets.sync.client import connect
from websockets.typing import Origin

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "scenarios" / "frame-nook.toml"
SECONDS = 1.0
"""From the signal to the end of the process, on a machine with a core to spare."""
AWAKE = 0.15
"""Seconds that an interpreter takes to come to the program's first line; before, a signal is the system's."""
MARK = "FOOTWORK_INTERRUPTED"

FILE, VISITS = "shed.toml", "visits.csv"
STUDY = ("--seconds", "1", "--processes", "2")
ONE = ("--step", "50", "--seconds", "1", "--processes", "1")
SEEN = "order,place,job\n1,bench,frame\n2,mitre,frame\n3,bench,frame\n"
SAID = ({"do": "choose", "names": ["mitre"]}, {"do": "spots", "on": True},
        {"do": "nudge", "names": ["mitre"], "way": "north"}, {"do": "search", "seconds": 30})  # fmt: skip
"""What the page says that is opened."""


@dataclass(frozen=True)
class Way:
    """A command to interrupt: its words, what is typed, how long it takes about, which files it may leave."""

    name: str
    words: tuple[str, ...]
    seconds: float
    leaves: tuple[str, ...] = ()
    typed: str = ""
    signals: tuple[signal.Signals, ...] = (signal.SIGINT, signal.SIGTERM)
    talks: bool = False
    """Whether a page is opened and asks for spots and for a search, so that processes work beside it."""


WAYS = (
    Way("suggest", ("suggest", FILE, "--seconds", "4", "--quiet"), 5.0),
    Way("suggest --save", ("suggest", FILE, "--seconds", "1", "--save", "found", "--quiet"), 3.5),
    Way("suggest --anywhere", ("suggest", FILE, "--seconds", "3", "--anywhere", "--json", "--quiet"), 5.0),
    Way("whatif --save", ("whatif", FILE, "move bench by 0.1,0", "--save", "tried"), 2.5),
    Way("draw svg", ("draw", FILE, "--out", "plan.svg"), 3.0, ("plan.svg",)),
    Way("draw dxf", ("draw", FILE, "--out", "plan.dxf"), 3.0, ("plan.dxf",)),
    Way("report", ("report", FILE, "--out", "report.html"), 4.0, ("report.html",)),
    Way("mark", ("mark", FILE, "--out", "mark.pdf"), 3.0, ("mark.pdf",)),
    Way(
        "prompt",
        ("whatif", FILE),
        3.0,
        (),
        "move bench by 0.1,0\nsave tried\nundo\nscore\n" * 5,
        (signal.SIGTERM,),
    ),
    Way("open", ("open", FILE, "--no-browser"), 3.0),
    Way("a page that searches", ("open", FILE, "--no-browser"), 6.0, talks=True),
    Way("where", ("where", FILE, "mitre", "--json", "--picture", "where.svg"), 4.0, ("where.svg",)),
    Way("sizes", ("sizes", FILE, "--width", "430:530", "--step", "50", *STUDY), 12.0),
    Way(
        "sizes --out", ("sizes", FILE, "--width", "430:480", "--out", "sizes.csv", *ONE), 6.0, ("sizes.csv",)
    ),
    Way("fit", ("fit", FILE, "pillar drill", "--moves", "1", "--out", "fit.svg", *STUDY), 9.0, ("fit.svg",)),
    Way("weekend --save", ("weekend", FILE, "--save", "few", *STUDY), 10.0),
    Way("robust --search", ("robust", FILE, "--percent", "30", "--search", *STUDY), 10.0),
    Way("tally --merge", ("tally", FILE, VISITS, "--weeks", "2", "--merge"), 1.2),
)
"""With ``STUDY`` on several processes, with ``ONE`` in the program's own."""


LEAST = {".csv": 80}
"""Bytes of a file that is whole."""


@dataclass
class Run:
    """The figures of a run: how many were tried, what they left with, how long they took to leave."""

    outcomes: Counter[str] = field(default_factory=Counter)
    took: list[float] = field(default_factory=list)
    broken: list[str] = field(default_factory=list)
    patience: float = 1.0

    def told(self) -> Iterator[str]:
        yield f"{sum(self.outcomes.values())} interrupts: {dict(sorted(self.outcomes.items()))}"
        if self.took:
            late = sorted(self.took)
            at = (late[len(late) // 2], late[int(0.95 * (len(late) - 1))], late[-1])
            yield "left after {:.2f} s in the middle, {:.2f} s in 19 of 20, {:.2f} s at most".format(*at)
        yield f"{len(self.broken)} promises not held"


def interrupt(way: Way, after: float, number: int, run: Run, cache: Path | None = None) -> None:
    """Interrupt one command once; what is not as promised goes into ``run.broken``."""
    with tempfile.TemporaryDirectory() as name, tempfile.TemporaryDirectory() as kept:
        folder = Path(name)
        shutil.copy(EXAMPLE, folder / FILE)
        (folder / VISITS).write_text(SEEN, encoding="utf-8")
        before = (folder / FILE).read_bytes()
        mark = uuid.uuid4().hex
        environment = {**os.environ, "PYTHONPATH": str(ROOT / "src"), MARK: mark}
        environment |= {"XDG_STATE_HOME": f"{kept}/state", "XDG_CACHE_HOME": f"{kept}/cache"}
        if cache is not None:
            environment["NUMBA_CACHE_DIR"] = str(cache)
        with subprocess.Popen(
            [sys.executable, "-m", "footwork", *way.words],
            cwd=folder,
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            start_new_session=True,
        ) as process:
            out, err, late = _signalled(process, way, after, number)
        what = f"{way.name}, signal {number} after {after:.2f} s"
        if late is None:
            run.outcomes[f"ended before with {process.returncode}"] += 1
        else:
            run.outcomes[f"status {process.returncode}"] += 1
            run.took.append(late)
        for wrong in _wrong(way, process.returncode, err, late, after, folder, before, mark, run.patience):
            run.broken.append(f"{what}: {wrong}")
            print(
                run.broken[-1],
                err.decode(errors="replace")[-1500:],
                out.decode(errors="replace")[-200:],
                flush=True,
            )


def _signalled(
    process: subprocess.Popen[bytes], way: Way, after: float, number: int
) -> tuple[bytes, bytes, float | None]:
    """What the process printed, and how long after the signal it ended; None where it had ended before."""
    assert process.stdin is not None
    with suppress(OSError):
        process.stdin.write(way.typed.encode())
        process.stdin.close()
    process.stdin = None
    with ExitStack() as closing:
        if way.talks:
            _opened(process, closing)
        with suppress(subprocess.TimeoutExpired):
            process.wait(after)
        late: float | None = None
        if process.poll() is None:
            began = time.monotonic()
            os.kill(process.pid, number)
            with suppress(subprocess.TimeoutExpired):
                process.wait(20.0)
            late = time.monotonic() - began
        process.poll()
        if process.returncode is None:
            process.kill()
        out, err = process.communicate()
    return out, err, late


def _opened(process: subprocess.Popen[bytes], closing: ExitStack) -> None:
    """A page on the address that the process prints, which asks for all that is worked out beside it."""
    assert process.stdout is not None
    url = process.stdout.readline().split()[0].decode()
    talk, origin = f"{url.replace('http', 'ws', 1)}talk", "/".join(url.split("/")[:3])
    page = closing.enter_context(connect(talk, origin=Origin(origin), compression=None))
    for message in SAID:
        page.send(json.dumps(message))


def _wrong(
    way: Way,
    status: int,
    err: bytes,
    late: float | None,
    after: float,
    folder: Path,
    before: bytes,
    mark: str,
    patience: float,
) -> Iterator[str]:
    """What of the promise was not held."""
    asleep = after < AWAKE
    if (b"Traceback" in err or b"Exception ignored" in err) and not asleep:
        yield "a traceback"
    # -2 is 130 to a shell: Python ends so where an interrupt fell into code that is made from text.
    if status not in (0, 1, 130, 143, -2) and not (asleep and status == -15):
        yield f"status {status}"
    if late is not None and late > patience * SECONDS:
        yield f"it took {late:.2f} s to leave"
    there = {path.name for path in folder.iterdir()}
    if more := there - {FILE, VISITS, *way.leaves, "__pycache__"}:
        yield f"left behind: {sorted(more)}"
    now = (folder / FILE).read_bytes()
    if now != before and not (now.startswith(before.rstrip()[:200]) and _is_whole(folder / FILE)):
        yield "the scenario file is neither the old one nor a new one"
    for name in way.leaves:
        if (folder / name).exists() and (folder / name).stat().st_size < LEAST.get(Path(name).suffix, 1000):
            yield f"{name} is not whole"
    end = time.monotonic() + 3.0 * patience  # one that has just begun hears of it once it has come to itself
    while (left := _left(mark)) and time.monotonic() < end:
        time.sleep(0.1)
    if left:
        yield f"processes that go on: {left}"
        for number in left:
            with suppress(OSError):
                os.kill(number, signal.SIGKILL)


def _is_whole(path: Path) -> bool:
    sys.path.insert(0, str(ROOT / "src"))
    from footwork.model.read import load

    return len(load(path).layouts) in (1, 2, 3, 4)


def _left(mark: str) -> list[int]:
    """Processes that were started with the mark in their environment and still run."""
    found = []
    for place in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            if mark.encode() in (place / "environ").read_bytes():
                found.append(int(place.name))
    return found


def some(times: int, seed: int, ways: Sequence[Way] = WAYS, patience: float = 1.0) -> Run:
    """So many interrupts, the ways in turn, each at a random moment.

    ``patience`` times as long as is promised may pass, where other programs want the machine too.
    """
    rng, run = random.Random(seed), Run(patience=patience)
    for k in range(times):
        way = ways[k % len(ways)]
        interrupt(way, rng.uniform(AWAKE, way.seconds), rng.choice(way.signals), run)
    return run


def main() -> int:
    """Run, print the figures, and say whether all was held."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--compiling", type=int, default=0, help="interrupts of a search that compiles, besides"
    )
    parser.add_argument("--patience", type=float, default=1.0, help="times a second, on a busy machine")
    parser.add_argument("--only", default="", help="ways whose name begins so")
    asked = parser.parse_args()
    signal.signal(signal.SIGINT, signal.default_int_handler)  # in the background a shell has it ignored
    ways = [way for way in WAYS if way.name.startswith(asked.only)]
    run = some(asked.times, asked.seed, ways, asked.patience)
    rng = random.Random(asked.seed)
    for _ in range(asked.compiling):
        with tempfile.TemporaryDirectory() as empty:
            interrupt(WAYS[0], rng.uniform(1.0, 40.0), rng.choice(WAYS[0].signals), run, Path(empty))
    print("\n".join(run.told()))
    return 1 if run.broken else 0


if __name__ == "__main__":
    sys.exit(main())
