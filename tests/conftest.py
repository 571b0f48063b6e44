"""Property tests draw the same examples in every run; ask for new ones when you want to search.

HYPOTHESIS_SEARCH=1 .venv/bin/python -m pytest tests/measure
"""

from __future__ import annotations

import os

from hypothesis import settings

# What the office's tests and the browser's share; nothing of it loads Django or a browser until it is used.
pytest_plugins = ["tests.kit.databases", "tests.kit.serving", "tests.kit.browser"]

# Commands speak the language of the terminal; tests run where English is asked for.
os.environ["SLABWRIGHT_LANG"] = "en"

settings.register_profile("steady", derandomize=True, deadline=None)
settings.register_profile("search", deadline=None)
settings.load_profile("search" if os.environ.get("HYPOTHESIS_SEARCH") else "steady")
