"""What every record of the job file shares: its keys' spelling, and the line that it begins on."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from pydantic import BaseModel, ConfigDict, PrivateAttr, model_validator


def key_of(field: str) -> str:
    """Return a field's key in the job file: `set_up` is written set-up, `from_` is written from."""
    return field.rstrip("_").replace("_", "-")


class Row(BaseModel):
    """Base of every record in the job file."""

    model_config = ConfigDict(extra="forbid", frozen=True, alias_generator=key_of, populate_by_name=True)
    _line: int | None = PrivateAttr(default=None)

    @model_validator(mode="wrap")
    @classmethod
    def _keep_line(cls, raw: Any, handler: Callable[[Any], Any]) -> Any:
        made = handler(raw)
        line = getattr(raw, "line", None)
        if line is not None:
            made._line = line
        return made


def line_of(row: Row) -> int | None:
    """Return the job file's line that this record begins on, or None when it was not read from one."""
    return row._line
