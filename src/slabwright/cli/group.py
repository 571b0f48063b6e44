"""The command group: what `slabwright --help` says."""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import click

from slabwright import __version__
from slabwright.cli.tongue import asked_in, helped, parser_word, said, speaking, teach_parser, tongue

teach_parser()

# A job's matrices are small: several threads on one of them only wait for each other.
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

FAILED, FAULT = 3, 4
DEBUG = "SLABWRIGHT_DEBUG"
_MACHINE = {
    errno.ENOSPC,
    errno.EDQUOT,
    errno.EFBIG,
    errno.EROFS,
    errno.EIO,
    errno.EMFILE,
    errno.ENFILE,
    errno.ENOMEM,
}

EXIT_CODES = """\b
Exit codes:
  0  planned, nothing stands in the way
  1  planned, but a finding says stop: do not build it like this
  2  the notes cannot be used; what is wrong is listed with its line
  3  the machine would not do it (a full disk, a folder that cannot be written)
  4  a fault of the program itself; your files were left as they were
"""


def _of_machine(fault: Exception) -> str:
    """Return what the machine refused; nothing for a fault that is our own."""
    if isinstance(fault, MemoryError):
        return "no memory is left"
    if not isinstance(fault, OSError) or fault.errno not in _MACHINE:
        return ""
    return f"{fault.strerror} ({fault.filename})" if fault.filename else str(fault.strerror)


@contextmanager
def in_own_words(command: click.Command) -> Iterator[None]:
    """Let a command's help stand in the language of this run while it is shown."""
    if tongue() == "en":
        yield
        return
    params = [one for one in command.params if isinstance(one, click.Option)]
    before = command.help, command.epilog, [one.help for one in params]
    try:
        command.help = helped(command) or command.help
        command.epilog = helped(command, "epilog") or command.epilog
        for one in params:
            one.help = helped(command, max(one.opts, key=len).lstrip("-")) or one.help
        yield
    finally:
        command.help, command.epilog = before[:2]
        for one, text in zip(params, before[2], strict=True):
            one.help = text


class Told(click.Command):
    """A command whose help is said in the language of this run."""

    def get_help(self, ctx: click.Context) -> str:
        """Return the help as it is shown."""
        with in_own_words(self):
            text = super().get_help(ctx)
        return text.replace("[required]", "[obligatorio]") if tongue() == "es" else text

    def get_help_option(self, ctx: click.Context) -> click.Option | None:
        """Return the option --help: the parser makes it once, in the language of the run that asked first."""
        option = super().get_help_option(ctx)
        if option is not None:
            option.help = parser_word("Show this message and exit.")
        return option

    def get_short_help_str(self, limit: int = 45) -> str:
        """Return the line in the list of commands."""
        with in_own_words(self):
            return super().get_short_help_str(limit)


class ToldGroup(Told, click.Group):
    """A group of such commands."""

    command_class = Told


class Guarded(ToldGroup):
    """A group that ends a fault of our own with one line instead of a traceback."""

    group_class = ToldGroup

    def main(self, *args: Any, **extra: Any) -> Any:
        """Run in the language that the command line or the environment asks for."""
        words = args[0] if args else extra.get("args")
        with speaking(asked_in([str(word) for word in (sys.argv[1:] if words is None else words)])):
            return super().main(*args, **extra)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; with SLABWRIGHT_DEBUG set a fault shows where it happened."""
        try:
            return super().invoke(ctx)
        # A broken pipe: whoever read it has seen enough (`| head`, a pager that was left); nobody's fault.
        except click.ClickException as wrong:
            vars(wrong)["message"] = said(wrong.message)  # final for those who raise it, not for a translator
            raise
        except (click.exceptions.Exit, click.Abort, KeyboardInterrupt, BrokenPipeError):
            raise
        except Exception as fault:
            if os.environ.get(DEBUG):
                raise
            machine = _of_machine(fault)
            if machine:
                refused = f"the machine would not do it: {machine}. Your files were left as they were"
                click.echo(said(f"slabwright: {refused}."), err=True)
                ctx.exit(FAILED)
            words = " ".join(str(fault).split())[:200]
            own = (
                f"slabwright: a fault in the program itself ({type(fault).__name__}: {words}). "
                f"Your files were left as they were. {DEBUG}=1 shows where; send that with the job file."
            )
            click.echo(said(own), err=True)
            ctx.exit(FAULT)


@click.group(
    cls=Guarded,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog=EXIT_CODES,
)
@click.version_option(__version__, "-V", "--version", prog_name="slabwright")
def main() -> None:
    """Field notes of a concrete walk, patio or driveway in; a plan that a crew can build from out.

    \b
    Start here:
      slabwright new walk -o job.yaml    a job file to fill in, with every key explained
      slabwright check job.yaml          what is wrong or missing, and what to do about it
      slabwright plan job.yaml           the packet: sheets, tables and plan.json in a folder

    Write down what you read on site (tape pulls, rod readings); never work out a coordinate.
    Everything printed is a plan to check on site. Local codes and licensed practice decide.
    """
