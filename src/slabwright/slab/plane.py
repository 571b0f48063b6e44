"""The polygon library under one untyped name, so that its calls do not weaken the types around them."""

from __future__ import annotations

from typing import Any

import shapely
import shapely.affinity
import shapely.ops

shp: Any = shapely
