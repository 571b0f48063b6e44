"""The job file: what was written down on site."""
