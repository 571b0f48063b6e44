"""The office's settings for the type checker, which loads them to know the models: writes no key anywhere."""

import os

os.environ["SLABWRIGHT_SECRET"] = "signs nothing"

from slabwright.office.settings import *  # noqa: F403
