from __future__ import annotations

import importlib.util
from collections.abc import Callable
from pathlib import Path

import pytest

from slabwright.sheets.drawing import Drawing


@pytest.fixture(scope="session")
def walk() -> Drawing:
    """The made-up side walk of sample.py."""
    spec = importlib.util.spec_from_file_location("sheets_sample", Path(__file__).with_name("sample.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    make: Callable[[], Drawing] = module.walk
    return make()
