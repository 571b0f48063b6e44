"""The polygon library, which publishes no types, taken as Any in one place: checks stay strict elsewhere."""

from __future__ import annotations

from typing import Any

import shapely as _shapely
from shapely import affinity as _affinity
from shapely import ops as _ops

shapely: Any = _shapely
affinity: Any = _affinity
ops: Any = _ops
