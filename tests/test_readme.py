"""README.md and DEVELOPERS.md keep their word: every fenced example runs.

What the blocks mean here:

- ``toml`` after ``<!-- file: NAME -->``  is written to NAME in the folder the examples run in;
- ``console``  lines that start with ``$ `` are run; the lines below each are its whole output, in
  which a line ``...`` stands for any lines and ``…`` for any part of one;
- ``python``  runs, all blocks of a page in one namespace;
- ``sh`` after ``<!-- command: NAME -->``  is run by .ci/run, word for word; here it is only looked at;
- ``text``  is for reading.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PAGES = ("README.md", "DEVELOPERS.md")
FENCE = re.compile(r"(?:^<!-- (?P<mark>[^\n]*) -->\n)?^```(?P<kind>\w*)\n(?P<body>.*?)^```$", re.M | re.S)


@dataclass(frozen=True)
class Block:
    """One fenced block of a page: its language, its text, the comment before it, its line."""

    kind: str
    body: str
    mark: str
    line: int


def blocks(page: str) -> list[Block]:
    """The fenced blocks of a page, in order."""
    text = (ROOT / page).read_text(encoding="utf-8")
    return [
        Block(m["kind"], m["body"], m["mark"] or "", text[: m.start("kind")].count("\n") + 1)
        for m in FENCE.finditer(text)
    ]


def command(page: str, name: str) -> str:
    """The ``sh`` block that .ci/run takes by that name."""
    return next(b.body for b in blocks(page) if b.mark == f"command: {name}").strip()


def run(line: str, where: Path) -> subprocess.CompletedProcess[str]:
    """A console line, with the ``footwork`` of this environment and no colours."""
    beside = Path(sys.executable).parent
    path = f"{beside}{os.pathsep}{os.environ['PATH']}"
    env = {**os.environ, "PATH": path, "NO_COLOR": "1", "COLUMNS": "100"}
    return subprocess.run(
        line, shell=True, cwd=where, env=env, capture_output=True, text=True, timeout=300, check=False
    )


def pattern(expected: list[str]) -> re.Pattern[str]:
    """Expected output with its wildcards as a regular expression."""
    parts = [
        r"(?:.*\n)*?" if line.strip() == "..." else ".*?".join(map(re.escape, line.split("…"))) + r"\n"
        for line in expected
    ]
    return re.compile("".join(parts))


def trimmed(text: str) -> list[str]:
    """Lines without trailing blanks, nor empty lines at either end."""
    return [line.rstrip() for line in text.strip("\n").splitlines()]


def console(body: str) -> list[tuple[str, list[str]]]:
    """The commands of a console block, each with its expected output."""
    found: list[tuple[str, list[str]]] = []
    for line in body.splitlines():
        if line.startswith("$ "):
            found.append((line[2:], []))
        else:
            found[-1][1].append(line)
    return found


@pytest.mark.parametrize("page", PAGES)
def test_every_example_runs(page: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copytree(ROOT / "scenarios", tmp_path / "scenarios")
    monkeypatch.chdir(tmp_path)
    names: dict[str, object] = {"__name__": "example"}
    for block in blocks(page):
        if block.kind == "toml" and block.mark.startswith("file: "):
            (tmp_path / block.mark.removeprefix("file: ")).write_text(block.body, encoding="utf-8")
        elif block.kind == "console":
            for line, expected in console(block.body):
                check_console(line, expected, tmp_path, f"{page}:{block.line}")
        elif block.kind == "python":
            exec(compile("\n" * block.line + block.body, page, "exec"), names)


def check_console(line: str, expected: list[str], where: Path, place: str) -> None:
    done = run(line, where)
    shown = trimmed(done.stdout)
    assert done.returncode in (0, 1), f"{place}: $ {line}\n{done.stdout}{done.stderr}"
    assert "Traceback" not in done.stderr, f"{place}: $ {line}\n{done.stderr}"
    wanted = trimmed("\n".join(expected))
    if wanted:
        assert pattern(wanted).fullmatch("\n".join(shown) + "\n"), (
            f"{place}: $ {line}\n-- printed:\n" + "\n".join(shown) + "\n-- expected:\n" + "\n".join(wanted)
        )


@pytest.mark.parametrize("page", PAGES)
def test_every_block_says_what_it_is(page: str) -> None:
    kinds = {"toml", "console", "python", "sh", "text"}
    assert [b for b in blocks(page) if b.kind not in kinds] == []
    assert [b for b in blocks(page) if b.kind == "sh" and not b.mark.startswith("command: ")] == []


def test_the_two_commands_come_first_and_need_only_venv_and_pip() -> None:
    first, second = blocks("README.md")[:2]
    assert (first.mark, second.mark) == ("command: main job", "command: tests")
    for block in (first, second):
        words = shlex.split(block.body.replace("&&", " "))
        assert words[:4] == ["python3", "-m", "venv", ".venv"]
        assert ".ci/constraints.txt" in words
    assert "footwork suggest scenarios/gate-shed.toml" in first.body
    assert ".venv/bin/pytest" in second.body


def test_the_gate_takes_the_commands_from_the_readme() -> None:
    gate = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    for name in ("main job", "tests"):
        assert f'run_readme "{name}"' in gate
        assert command("README.md", name)


def test_links_lead_somewhere() -> None:
    for page in PAGES:
        text = (ROOT / page).read_text(encoding="utf-8")
        targets = [t.split("#")[0] for t in re.findall(r"\]\(([^)\s]+)\)", text) if "://" not in t]
        assert [t for t in targets if t and not (ROOT / t).exists()] == [], page
