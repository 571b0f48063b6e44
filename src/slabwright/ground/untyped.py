"""Libraries that publish no types, taken as Any in one place so that strict checking stays on elsewhere."""

from __future__ import annotations

from typing import Any

import shapely as _shapely

shapely: Any = _shapely
