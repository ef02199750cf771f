"""The group of commands: loads each when named, and turns every way to fail into one line and a status."""

from __future__ import annotations

import os
import sys
from collections.abc import MutableMapping, Sequence
from importlib import import_module
from typing import Any

import click

from footwork.cli import output, signals
from footwork.model.errors import FootworkError
from footwork.model.names import hint

USAGE = 2
"""Wrong usage or a bad file."""
INTERNAL = 70
"""A fault of the program itself (EX_SOFTWARE of sysexits.h)."""
PIPE_CLOSED = 141
"""128 + SIGPIPE: the reader of our output left, as ``head`` does."""


class Footwork(click.Group):
    """Commands of the modules of one package, in a given order.

    ``main`` leaves with an exit status and prints one line on stderr for each error: never a
    traceback (unless FOOTWORK_DEBUG is set), never a page of usage.
    """

    def __init__(self, *, commands_in: str, order: Sequence[str], **attributes: Any) -> None:
        super().__init__(
            **attributes, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
        )
        self.package = commands_in
        self.order = list(order)
        self.params.append(_version_option())

    def list_commands(self, ctx: click.Context) -> list[str]:
        return self.order

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in self.order:
            return None
        module = import_module(f"{self.package}.{cmd_name}")
        command: click.Command = module.command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if ctx.resilient_parsing:  # the shell completes a line: nobody wants an error yet
            return super().resolve_command(ctx, args)
        if not args[0].startswith("-") and args[0] not in self.order:
            raise click.UsageError(f"no command {args[0]!r}. {hint(args[0], self.order, 'commands')}", ctx)
        return super().resolve_command(ctx, args)

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        windows_expand_args: bool = True,
        **extra: Any,
    ) -> Any:
        """Run one command and leave with its status; without ``standalone_mode``, as click does."""
        if not standalone_mode:
            extra["windows_expand_args"] = windows_expand_args
            return super().main(args, prog_name or "footwork", complete_var, standalone_mode, **extra)
        words = list(sys.argv[1:] if args is None else args) or ["--help"]
        self._main_shell_completion(extra, "footwork", complete_var)
        with signals.heeded():
            status = self._status(words, extra)
        sys.exit(status)

    def _status(self, words: list[str], extra: MutableMapping[str, Any]) -> int:
        if wrong := _unsayable(words):
            output.error(wrong)
            return USAGE
        try:
            output.tolerate_any_text()
            with self.make_context("footwork", words, **extra) as ctx:
                status = self.invoke(ctx)
            sys.stdout.flush()
        except click.exceptions.Exit as leave:
            return _flushed(leave.exit_code)
        except click.ClickException as fault:
            output.error(_one_line(fault, self._path(fault, words)))
            return USAGE
        except FootworkError as fault:
            output.errors(fault.lines)
            return fault.exit_status
        except (KeyboardInterrupt, click.Abort, EOFError) as stop:
            output.error(signals.NOTHING_YET)
            return signals.status(stop)
        except BrokenPipeError:
            return _drop_output()
        except OSError as fault:
            _drop_output()  # a full disk would be met again by the interpreter's last flush
            what = "cannot go on" if fault.filename is None else fault.filename
            output.error(f"{what}: {fault.strerror or fault}")
            return USAGE
        except Exception as fault:
            interrupt = signals.behind(fault)
            if interrupt is None:
                return _internal(fault)
            output.error(signals.NOTHING_YET)
            return signals.status(interrupt)
        return status if isinstance(status, int) else 0

    def _path(self, fault: click.ClickException, words: list[str]) -> str:
        """The command whose help would help; click does not always say which one failed."""
        if isinstance(fault, click.UsageError) and fault.ctx is not None:
            return fault.ctx.command_path
        return " ".join(["footwork", *words[:1]]) if words[:1] and words[0] in self.order else "footwork"


def _unsayable(words: Sequence[str]) -> str:
    """What is wrong with a word that no system can take as the name of a file, or an empty string."""
    for word in words:
        try:
            wrong = b"\0" in os.fsencode(word)
        except UnicodeEncodeError:
            wrong = True
        if wrong:
            return f"{word!r} holds NUL or half a character, which no file and no name can"
    return ""


def _flushed(status: int) -> int:
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        return _drop_output()
    return status


def _drop_output() -> int:
    output.nobody_reads()
    return PIPE_CLOSED


def _internal(fault: Exception) -> int:
    if os.environ.get("FOOTWORK_DEBUG"):
        import traceback

        traceback.print_exception(fault)
    what = " ".join(f"{type(fault).__name__}: {fault}".split())[:300]
    output.error(f"a fault of the program, not of your file: {what}; FOOTWORK_DEBUG=1 shows where")
    return INTERNAL


def _one_line(fault: click.ClickException, path: str) -> str:
    """Click's message as one line that ends in where to look."""
    if isinstance(fault, click.NoSuchOption):  # click's own words are others in each of its versions
        near = f"; did you mean '{fault.possibilities[0]}'?" if fault.possibilities else ""
        return f"no such option '{fault.option_name}'{near or ';'} try: {path} --help"
    sentences = " ".join(fault.format_message().split()).rstrip(".").split(". ")
    text = "; ".join(s if s[1:2].isupper() else s[:1].lower() + s[1:] for s in sentences)
    return f"{text}{'' if text.endswith('?') else ';'} try: {path} --help"


def _version_option() -> click.Option:
    def show(ctx: click.Context, param: click.Parameter, value: bool) -> None:
        if value and not ctx.resilient_parsing:
            from importlib.metadata import version

            output.line(f"footwork {version('footwork')}")
            ctx.exit()

    return click.Option(
        ["--version"],
        is_flag=True,
        is_eager=True,
        expose_value=False,
        callback=show,
        help="Show the version.",
    )
