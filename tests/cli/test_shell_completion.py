"""Completion in real shells: bash here and in CI, zsh and fish where they are installed."""

from __future__ import annotations

import os
import pty
import re
import select
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from box import write_box

ROOT = Path(__file__).parents[2]
BIN = Path(sys.executable).parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def setting_up(shell: str) -> str:
    """The line that README.md gives for a shell."""
    found = re.search(rf"^\| {shell} \|[^|]*\| `(.*)` \|$", README, re.MULTILINE)
    assert found, f"README.md has no line for {shell}"
    return found[1].replace("\\|", "|")


def environment() -> dict[str, str]:
    return {**os.environ, "PATH": f"{BIN}{os.pathsep}{os.environ['PATH']}", "TERM": "dumb"}


def need(shell: str) -> str:
    found = shutil.which(shell)
    if found is None:
        pytest.skip(f"there is no {shell} on this machine")
    if not (BIN / "footwork").exists():
        pytest.skip("footwork is not installed as a command")
    return found


LINES = {
    "footwork sc": {"score", "schema"},
    "footwork score box.toml --lay": {"--layout"},
    "footwork score box.toml --layout ": {"today", "closer"},
    "footwork compare box.toml today ": {"closer"},
    "footwork walk box.toml --job h": {"hang"},
    "footwork where box.toml d": {"drill"},
    "footwork suggest box.toml --keep drill,": {"drill,bench", "drill,rack", "drill,sink", "drill,van"},
    "footwork stations pillar": {"pillar drill"},
    "footwork score nosuch.toml --layout ": set(),
}


def test_bash(tmp_path: Path) -> None:
    bash = need("bash")
    write_box(tmp_path)
    script = [setting_up("bash")]
    for line in LINES:
        words = line.split(" ")
        script += [
            f"COMP_WORDS=({' '.join(map(repr, words))}); COMP_CWORD={len(words) - 1}; COMPREPLY=()",
            "_footwork_completion footwork; (IFS='|'; echo \"${COMPREPLY[*]}\")",
        ]
    done = subprocess.run(
        [bash, "--norc", "-c", "\n".join(script)],
        cwd=tmp_path,
        env=environment(),
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    )
    assert done.stderr == ""
    told = dict(zip(LINES, done.stdout.splitlines(), strict=True))
    assert {line: set(filter(None, said.split("|"))) for line, said in told.items()} == LINES


def test_a_misspelt_command_is_no_error_while_the_line_is_typed() -> None:
    need("bash")
    asked = {"_FOOTWORK_COMPLETE": "bash_complete", "COMP_WORDS": "footwork scroe x", "COMP_CWORD": "2"}
    done = subprocess.run(
        [BIN / "footwork"], env={**environment(), **asked}, capture_output=True, text=True, check=True
    )
    assert done.stderr == ""


def test_fish(tmp_path: Path) -> None:
    fish = need("fish")
    write_box(tmp_path)
    for line, wanted in LINES.items():
        if line.endswith(","):  # fish's side of click parts what it hears at commas
            continue
        script = f"{setting_up('fish')}\ncomplete --do-complete '{line}'"
        done = subprocess.run(
            [fish, "--no-config", "-c", script],
            cwd=tmp_path,
            env={**environment(), "HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path / ".config")},
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        said = {row.split("\t")[0] for row in done.stdout.splitlines()}
        assert wanted <= said, line
        assert "Traceback" not in done.stderr


def test_zsh(tmp_path: Path) -> None:
    zsh = need("zsh")
    write_box(tmp_path)
    talk = _Terminal([zsh, "-f", "-i"], tmp_path)
    try:
        talk.send("PROMPT='READY> '; unsetopt beep; autoload -U compinit; compinit -u -d ./dump\n")
        talk.send(f"{setting_up('zsh')}; echo SET'-'UP\n")
        talk.wait("SET-UP")
        for begun, ended in (
            ("footwork whati", "footwork whatif "),
            ("footwork walk box.toml --job ha", "--job hang "),
            ("footwork score box.toml --layout cl", "--layout closer "),
        ):
            talk.send(f"{begun}\t")
            talk.wait(ended)
            talk.send("\x15")  # the line is given up
    finally:
        talk.close()


class _Terminal:
    """A program at a terminal, to type at and to read from."""

    def __init__(self, words: list[str], where: Path) -> None:
        self.seen = ""
        self.pid, self.handle = pty.fork()
        if self.pid == 0:
            os.chdir(where)
            os.execve(words[0], words, {**environment(), "HOME": str(where), "COLUMNS": "200"})

    def send(self, text: str) -> None:
        os.write(self.handle, text.encode())

    def wait(self, wanted: str, seconds: float = 60.0) -> None:
        """Read until ``wanted`` has been shown."""
        end = time.monotonic() + seconds
        while wanted not in self.seen:
            left = end - time.monotonic()
            assert left > 0, f"no {wanted!r} in {self.seen[-500:]!r}"
            if select.select([self.handle], [], [], left)[0]:
                self.seen += os.read(self.handle, 4096).decode(errors="replace")
        self.seen = self.seen.split(wanted, 1)[1]

    def close(self) -> None:
        os.close(self.handle)
        os.waitpid(self.pid, 0)
