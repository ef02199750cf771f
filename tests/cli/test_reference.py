"""src/footwork/cli/README.md is what the commands say of themselves."""

from __future__ import annotations

from pathlib import Path

import pytest

import footwork.cli
from cli.run import footwork as run
from footwork.cli.reference import reference


def test_the_reference_has_not_drifted() -> None:
    page = Path(footwork.cli.__file__).with_name("README.md")
    assert page.read_text(encoding="utf-8") == reference(), (
        "run: python -m footwork.cli.reference > src/footwork/cli/README.md"
    )


@pytest.mark.parametrize("command", footwork.cli.COMMANDS)
def test_every_command_has_help_that_fits(command: str) -> None:
    done = run(command, "--help")
    assert (done.status, done.err) == (0, "")
    assert all(len(line) <= 80 for line in done.out.splitlines())
    assert "..." not in run("--help").out.split("Commands:")[1]
