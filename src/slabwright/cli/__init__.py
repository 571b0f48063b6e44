"""The command line: thin, it reads, calls plan, prints."""

from slabwright.cli import built, exchange, jobs, money, money_after, office, pour
from slabwright.cli.group import main

__all__ = ["built", "exchange", "jobs", "main", "money", "money_after", "office", "pour"]
