"""The command line: thin, it reads, calls plan, prints."""

from slabwright.cli import built, exchange, jobs, pour
from slabwright.cli.group import main

__all__ = ["built", "exchange", "jobs", "main", "pour"]
