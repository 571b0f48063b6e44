"""The command group: what `slabwright --help` says."""

from __future__ import annotations

import click

from slabwright import __version__

EXIT_CODES = """\b
Exit codes:
  0  planned, nothing stands in the way
  1  planned, but a finding says stop: do not build it like this
  2  the notes cannot be used; what is wrong is listed with its line
  3  the machine would not do it (a full disk, a folder that cannot be written)
"""


@click.group(
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
