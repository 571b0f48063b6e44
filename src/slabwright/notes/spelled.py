"""Short forms of the job file, taken apart into their keys and put together again, as plain data."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from slabwright.notes.layout import canonical, keys_of
from slabwright.notes.models import Pull, Row, SquareOff, WaterLevel
from slabwright.notes.models_weather import WeatherNotes
from slabwright.notes.names import known_names, splits, tell_apart, tidy
from slabwright.notes.values import Listed, Mapped

KeyPath = tuple[str | int, ...]
_PAIRS: dict[type[Row], str] = {Pull: "reads", WaterLevel: "up"}


def names_in(tree: Mapping[str, Any]) -> frozenset[str]:
    """Return the names of points that a plain tree of notes writes by themselves."""
    return frozenset(known_names(_mapped(tree)))


def _mapped(node: Any) -> Any:
    if isinstance(node, Mapping):
        return Mapped({str(key): _mapped(value) for key, value in node.items()})
    return Listed([_mapped(item) for item in node]) if isinstance(node, list) else node


def spelled(row: type[Row], node: Any, known: Collection[str]) -> dict[str, tuple[KeyPath, Any]] | None:
    """Return a record's keys, each with where its value stands inside the record and the value itself.

    Keys are in the model's spelling. A name that is part of another key (from and to of `A-B: 42'`) stands
    at (), for it can only be written with the whole record. None where `node` is no such record.
    """
    if row is WeatherNotes and isinstance(node, str):
        return {"file": ((), node)}
    if not isinstance(node, Mapping):
        return None
    if row in _PAIRS:
        return _pair(row, node, known)
    if row is SquareOff and len(node) == 1:
        name, inner = next(iter(node.items()))
        if isinstance(inner, Mapping) and canonical(name) not in keys_of(row):
            found: dict[str, tuple[KeyPath, Any]] = {"point": ((), tidy(name))}
            return found | {canonical(k): ((name, k), value) for k, value in inner.items()}
    return {canonical(str(key)): ((key,), value) for key, value in node.items()}


def _pair(row: type[Row], node: Mapping[str, Any], known: Collection[str]) -> dict[str, tuple[KeyPath, Any]]:
    value = _PAIRS[row]
    plainly: dict[str, tuple[KeyPath, Any]] = {canonical(str(k)): ((k,), v) for k, v in node.items()}
    loose = [k for k in node if canonical(str(k)) not in keys_of(row)]
    if len(loose) > 1:
        loose = [k for k in loose if splits(str(k))]
    if len(loose) != 1 or {"from", "to", value} & set(plainly):
        return plainly
    key = loose[0]
    cut = tell_apart(key, known)
    if isinstance(cut, str):
        return plainly
    del plainly[canonical(str(key))]
    inner = node[key]
    stands: dict[str, tuple[KeyPath, Any]] = (
        {canonical(str(k)): ((key, k), v) for k, v in inner.items()}
        if isinstance(inner, Mapping)
        else {value: ((key,), inner)}
    )
    return {"from": ((), cut[0]), "to": ((), cut[1]), **stands, **plainly}


def put_together(row: type[Row], keys: Mapping[str, Any], known: Collection[str]) -> dict[str, Any]:
    """Return the record that holds these keys, in its short form where it has one that can be told apart."""
    kept = {key: value for key, value in keys.items() if value is not None and value != ""}
    if row in _PAIRS and {"from", "to", _PAIRS[row]} <= set(kept):
        one = f"{kept['from']}-{kept['to']}"
        if tell_apart(one, known) == (kept["from"], kept["to"]) and canonical(one) not in keys_of(row):
            rest = {k: v for k, v in kept.items() if k not in ("from", "to", _PAIRS[row])}
            return {one: kept[_PAIRS[row]], **rest}
    if (
        row is SquareOff
        and "point" in kept
        and len(kept) > 1
        and canonical(kept["point"]) not in keys_of(row)
    ):
        return {kept["point"]: {k: v for k, v in kept.items() if k != "point"}}
    return kept


def wanted_by(row: type[Row]) -> tuple[str, ...]:
    """Return the keys without which a record cannot be read."""
    return tuple(key.name for key in keys_of(row).values() if key.required)
