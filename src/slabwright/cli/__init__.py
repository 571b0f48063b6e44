"""The command line: thin, it reads, calls plan, prints."""

from slabwright.cli import exchange, jobs
from slabwright.cli.group import main

__all__ = ["exchange", "jobs", "main"]
