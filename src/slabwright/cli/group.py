"""The command group: what `slabwright --help` says."""

from __future__ import annotations

import errno
import os
from typing import Any

import click

from slabwright import __version__

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


class Guarded(click.Group):
    """A group that ends a fault of our own with one line instead of a traceback."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; with SLABWRIGHT_DEBUG set a fault shows where it happened."""
        try:
            return super().invoke(ctx)
        # A broken pipe: whoever read it has seen enough (`| head`, a pager that was left); nobody's fault.
        except (click.ClickException, click.exceptions.Exit, click.Abort, KeyboardInterrupt, BrokenPipeError):
            raise
        except Exception as fault:
            if os.environ.get(DEBUG):
                raise
            machine = _of_machine(fault)
            if machine:
                said = (
                    f"slabwright: the machine would not do it: {machine}. Your files were left as they were."
                )
                click.echo(said, err=True)
                ctx.exit(FAILED)
            words = " ".join(str(fault).split())[:200]
            click.echo(
                f"slabwright: a fault in the program itself ({type(fault).__name__}: {words}). "
                f"Your files were left as they were. {DEBUG}=1 shows where; send that with the job file.",
                err=True,
            )
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
