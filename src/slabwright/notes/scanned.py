"""A job file's YAML events, scanned once: a text is read, changed and planned within the same second."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator
from threading import Lock
from typing import Any

from ruamel.yaml import YAML

from slabwright.notes.syntax import tabs_to_spaces

KEPT = 8  # texts
SHORT = 400  # letters under which scanning again costs nothing

_kept: OrderedDict[str, tuple[tuple[Any, ...], Exception | None]] = OrderedDict()
_lock = Lock()


def events(text: str) -> Iterator[Any]:
    """Yield the events of a YAML text; what the scanner raises is raised where it stands.

    A text that was read to its end before is not scanned again. Nobody changes an event.
    """
    if len(text) < SHORT:
        yield from _scanned(text)
        return
    with _lock:
        known = _kept.get(text)
        if known is not None:
            _kept.move_to_end(text)
    if known is None:
        yield from _kept_while_scanned(text)
        return
    yield from known[0]
    if known[1] is not None:
        raise known[1].with_traceback(None)


def _kept_while_scanned(text: str) -> Iterator[Any]:
    """Yield the events as they are scanned, and keep them once the text has come to its end."""
    found: list[Any] = []
    fault: Exception | None = None
    scanner = _scanned(text)
    while True:
        try:
            event = next(scanner)
        except StopIteration:
            break
        except Exception as error:  # the scanner's own faults are part of what it found
            fault = error
            break
        found.append(event)
        yield event
    with _lock:
        _kept[text] = (tuple(found), fault)
        while len(_kept) > KEPT:
            _kept.popitem(last=False)
    if fault is not None:
        raise fault


def _scanned(text: str) -> Iterator[Any]:
    yield from YAML(typ="safe", pure=True).parse(tabs_to_spaces(text))
