"""From nodes to what the models expect: keys made alike, short forms spelled out, choices recognised.

Everything that is wrong with the shape of the notes is said here, in the words of the trade; the
models then only have values to judge. What has the wrong shape is left out, so that what comes out
has records, lists and texts where they belong; in lists it leaves a gap, so rows keep their numbers.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from slabwright.notes.layout import (
    Key,
    branches,
    canonical,
    choices_of,
    is_name,
    item_of,
    items_of,
    keys_of,
    named_of,
    row_of,
)
from slabwright.notes.mistakes import Mistake, did_you_mean, dotted, nearest, twice
from slabwright.notes.models import Door, Fall, Notes, Pull, Row, SquareOff, WaterLevel
from slabwright.notes.names import known_names, splits, tell_apart, tidy
from slabwright.notes.values import Listed, Mapped, Written

Path = tuple[str | int, ...]

# Spellings of a choice that mean the same; the model's own word stands on the right.
_SAME = {"center": "centre", "middle": "centre", "fibre": "fiber", "fibers": "fiber", "fibres": "fiber",
         "frp": "gfrp", "rebar": "bars", "bar": "bars", "wire": "mesh", "saw": "sawn", "cut": "sawn",
         "tool": "tooled", "sidewalk": "walk", "us": "imperial", "si": "metric", "11x17": "tabloid",
         "comms": "communications", "power": "electric", "irrigation": "sprinkler"}  # fmt: skip


_NUMBER_SIGN = re.compile(r"^(#|no\.?)[- ]*")  # bar sizes: #4, no. 4


class Tidier:
    """One pass over the tree. `mistakes` and the paths they stand at (`bad`) grow as it goes."""

    def __init__(self, file: str, tree: Mapped) -> None:
        self.file = file
        self.mistakes: list[Mistake] = []
        self.bad: set[Path] = set()
        self.known = known_names(tree)
        self.empty: dict[Path, Any] = {}  # keys that were written without a value, as written
        self.meant: set[Path] = set()  # keys that a misspelt one probably stands for

    def say(self, path: Path, at: Any, why: str, example: str | None, *, written: str | None = None) -> None:
        """Keep a mistake at `path`, placed by `at` (a node that knows its line)."""
        self.bad.add(path)
        line, column = getattr(at, "line", None), getattr(at, "column", None)
        self.mistakes.append(Mistake(self.file, line, column, dotted(path), written, why, example))

    def told(self, path: Path) -> bool:
        """Return whether a key is missing for a reason that is said: no value, misspelt, not usable."""
        return path in self.empty or path in self.meant or path in self.bad

    def row(self, model: type[Row], node: Any, path: Path, example: str | None = None) -> Any:
        """Return a record with the model's own keys, each value tidied."""
        if not isinstance(node, Mapped):
            wanted = list(keys_of(model))
            first = ", ".join(wanted[:3]) + (", ..." if len(wanted) > 3 else "")
            why = f"must be a record with keys ({first})"
            self.say(path, node, why, example or self._record(model), written=_text(node))
            return None
        short = _SHORT.get(model)
        if short is not None:
            node = short(self, node, path)
        keys, out = keys_of(model), Mapped(line=node.line)
        for written, value in node.items():
            name = canonical(str(written))
            key = keys.get(name)
            if key is None:
                if path or nearest(name, keys):
                    why = f"is not a key here{did_you_mean(name, keys)}"
                else:  # a whole part of a file
                    why = "is not a key here; a newer version of the program may know it"
                self.say((*path, str(written)), written, why, None)
                self.meant.add((*path, nearest(name, keys) or ""))
            elif name in out:
                why = twice(_line_of_key(out, name), _line(written))
                self.say((*path, name), written, why, None)
            elif value is None:
                self.empty[(*path, name)] = written
            else:
                here = (*path, name)
                made = self.value(key.type, value, here, key, written)
                if made is not None:  # what could not be used has been said, and is left out
                    out[Written(name, *_place(written))] = made
        settle = _SETTLED.get(model)
        if settle is not None:
            settle(self, out)
        return out

    def value(self, kind: Any, node: Any, path: Path, key: Key, at: Any) -> Any:
        """Return a value tidied to its type; `key` lends the example, `at` the place."""
        kind = self._branch(kind, node)
        model, item, items, named = row_of(kind), item_of(kind), items_of(kind), named_of(kind)
        if model is not None:
            return self.row(model, node if node is not None else at, path, _as_key(key))
        if item is not None:
            return self._list(item, node, path, key, at)
        if items is not None:
            return self._pair(items, node, path, key, at)
        if named is not None:
            return self._named(named, node, path, key, at)
        if isinstance(node, Mapped | Listed):
            what = "a list" if isinstance(node, Listed) else "a record with keys"
            self.say(path, at, f"must be a single value, not {what}", _as_key(key))
            return None
        if is_name(kind) and isinstance(node, str):
            return Written(tidy(node), *_place(node))
        choices = choices_of(kind)
        return self._choice(choices, node, path, key) if choices else node

    def _branch(self, kind: Any, node: Any) -> Any:
        """Return the branch of 'X or Y' that the node's shape fits."""
        options = branches(kind)
        if len(options) == 1:
            return kind
        for option in options:
            is_row = row_of(option) is not None and isinstance(node, Mapped)
            is_list = item_of(option) is not None and isinstance(node, Listed)
            if is_row or is_list:
                return option
        plain = [o for o in options if row_of(o) is None and item_of(o) is None]
        return plain[0] if plain else options[0]

    def _list(self, item: Any, node: Any, path: Path, key: Key, at: Any) -> Any:
        model = row_of(item)
        if isinstance(node, Mapped) and model is not None:
            node = self._from_mapping(model, node)
        if not isinstance(node, Listed):
            self.say(path, at, "must be a list", _as_key(key), written=_text(node))
            return None
        out = Listed(line=node.line)
        for index, entry in enumerate(node):
            here = (*path, index)
            if entry is None:
                self.say(here, node, "the list has an empty item", _as_key(key))
            out.append(None if entry is None else self.value(item, entry, here, key, entry))
        return out

    def _from_mapping(self, model: type[Row], node: Mapped) -> Listed:
        """Return rows for a mapping in place of a list: one record, or short forms under their names."""
        keys = keys_of(model)
        if model in _SHORT and not any(canonical(str(k)) in keys for k in node):
            rows = [Mapped({key: value}, line=_line(key)) for key, value in node.items()]
            return Listed(rows, line=node.line)
        return Listed([node], line=node.line)

    def _pair(self, items: tuple[Any, ...], node: Any, path: Path, key: Key, at: Any) -> Any:
        if isinstance(node, Mapped) and {canonical(str(k)) for k in node} == {"at"}:
            node = next(iter(node.values()))
        if isinstance(node, str) and row_of(items[0]) is None:
            cut = tell_apart(node, self.known)
            if not isinstance(cut, str):
                node = Listed([Written(name, *_place(node)) for name in cut], line=_line(node))
        if not isinstance(node, Listed) or len(node) != len(items) or None in node:
            why = f"must be {len(items)} values in brackets"
            self.say(path, at, why, _as_key(key), written=_text(node))
            return None
        return Listed(
            [
                self.value(kind, v, (*path, i), key, v)
                for i, (kind, v) in enumerate(zip(items, node, strict=True))
            ],
            line=node.line,
        )

    def _named(self, kind: Any, node: Any, path: Path, key: Key, at: Any) -> Any:
        if not isinstance(node, Mapped):
            why = "must be names with a value each"
            self.say(path, at, why, _as_key(key), written=_text(node))
            return None
        out = Mapped(line=node.line)
        for written, value in node.items():
            name = tidy(str(written))
            here = (*path, name)
            if name in out:
                self.say(here, written, twice(_line_of_key(out, name), _line(written)), None)
            elif value is None:
                self.say(here, written, "has no value", _as_key(key))
            else:
                made = self.value(kind, value, here, key, written)
                if made is not None:
                    out[Written(name, *_place(written))] = made
        return out

    def _choice(self, choices: tuple[str, ...], node: Any, path: Path, key: Key) -> Any:
        said = canonical(str(node))
        by_form = {canonical(c): c for c in choices} | {canonical(c).replace("-", ""): c for c in choices}
        plain = _NUMBER_SIGN.sub("", said).replace("-", "")
        hit = by_form.get(said) or by_form.get(plain) or by_form.get(_SAME.get(said, ""))
        if hit is None:
            wanted = ", ".join(choices[:-1]) + f" or {choices[-1]}"
            why = f"is not one of {wanted}{did_you_mean(said, choices)}"
            self.say(path, node, why, _as_key(key), written=_text(node))
            return None
        return Written(hit, *_place(node))

    def _record(self, model: type[Row]) -> str:
        required = [k for k in keys_of(model).values() if k.required] or list(keys_of(model).values())[:2]
        return "{" + ", ".join(f"{k.name}: {k.example}" for k in required) + "}"

    def joined(self, word: Written, path: Path, example: str) -> tuple[str, str] | None:
        """Return the two names in 'A-B', or None after saying why not."""
        cut = tell_apart(word, self.known)
        if isinstance(cut, str):
            self.say(path, word, cut, example, written=str(word))
            return None
        return cut


def _short_pull(self: Tidier, node: Mapped, path: Path, value_key: str = "reads") -> Mapped:
    """Spell out `A-B: 42'` (and `A-B: {reads: 42', with: steel}`)."""
    model = Pull if value_key == "reads" else WaterLevel
    loose = [k for k in node if canonical(str(k)) not in keys_of(model)]
    if len(loose) > 1:
        loose = [k for k in loose if splits(str(k))]
    if len(loose) != 1 or any(canonical(str(k)) in ("from", "to", value_key) for k in node):
        return node
    pair = loose[0]
    cut = self.joined(_written(pair), path, f"{{from: A, to: P1, {value_key}: 16' 2\"}}")
    out = Mapped(line=node.line)
    place = _place(pair)
    # names that cannot be told are kept as they are, so that only the first cause is said
    ends = cut if cut is not None else (str(pair), str(pair))
    out[Written("from", *place)] = Written(ends[0], *place)
    out[Written("to", *place)] = Written(ends[1], *place)
    value = node[pair]
    if isinstance(value, Mapped):
        out.update(value)
    else:
        out[Written(value_key, *place)] = value
    out.update({k: v for k, v in node.items() if k is not pair})
    return out


def _short_square_off(_: Tidier, node: Mapped, __: Path) -> Mapped:
    """Spell out `P1: {wall: A-B, along: 6', out: 15'}`."""
    if len(node) != 1:
        return node
    name, value = next(iter(node.items()))
    if not isinstance(value, Mapped) or canonical(str(name)) in keys_of(SquareOff):
        return node
    return Mapped(
        {Written("point", *_place(name)): Written(tidy(str(name)), *_place(name)), **value}, line=node.line
    )


def _short_door(_: Tidier, node: Mapped, path: Path) -> Mapped:
    """Name a door that has no name by its sill, or by its number."""
    if any(canonical(str(k)) == "name" for k in node):
        return node
    sill = next((v for k, v in node.items() if canonical(str(k)) == "sill" and isinstance(v, str)), None)
    number = path[-1] + 1 if isinstance(path[-1], int) else 1
    name = tidy(sill) if sill else f"door {number}"
    return Mapped({Written("name", node.line, None): Written(name, node.line, None), **node}, line=node.line)


_SHORT: dict[type[Row], Callable[[Tidier, Mapped, Path], Mapped]] = {
    Pull: _short_pull,
    WaterLevel: lambda self, node, path: _short_pull(self, node, path, "up"),
    SquareOff: _short_square_off,
    Door: _short_door,
}


def _settle_wall(key: str) -> Callable[[Tidier, Mapped], None]:
    """Return a step that writes 'A - B' and 'A to B' as 'A-B'; what cannot be told is left to the checks."""

    def settle(self: Tidier, out: Mapped) -> None:
        text = out.get(key)
        cut = tell_apart(text, self.known) if isinstance(text, str) else ""
        if not isinstance(cut, str):
            out[key] = Written(f"{cut[0]}-{cut[1]}", *_place(text))

    return settle


def _settle_toward(_: Tidier, out: Mapped) -> None:
    text = out.get("toward")
    if isinstance(text, str):
        way = text.strip().casefold()
        out["toward"] = Written(way if way in ("left", "right") else tidy(text), *_place(text))


_SETTLED: dict[type[Row], Callable[[Tidier, Mapped], None]] = {
    Door: _settle_wall("on"),
    SquareOff: _settle_wall("wall"),
    Fall: _settle_toward,
}


def tidy_tree(tree: Mapped, file: str) -> tuple[Any, Tidier]:
    """Return the tree as the models expect it, with the tidier that holds the mistakes found."""
    tidier = Tidier(file, tree)
    return tidier.row(Notes, tree, ()), tidier


def _as_key(key: Key) -> str:
    return key.example if key.example.startswith("- ") else f"{key.name}: {key.example}"


def _text(node: Any) -> str | None:
    return str(node) if isinstance(node, str) else None


def _written(key: Any) -> Written:
    return key if isinstance(key, Written) else Written(str(key))


def _line(at: Any) -> int | None:
    return getattr(at, "line", None)


def _place(at: Any) -> tuple[int | None, int | None]:
    return getattr(at, "line", None), getattr(at, "column", None)


def _line_of_key(node: Mapped, name: str) -> int | None:
    return next((_line(key) for key in node if key == name), None)
