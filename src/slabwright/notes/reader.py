"""Reading a job file: bytes to Notes, with every mistake told in one pass."""

from __future__ import annotations

import codecs
import os
import stat
from pathlib import Path

from pydantic import ValidationError

from slabwright.files import head_of
from slabwright.notes.check import check_tree
from slabwright.notes.mistakes import Mistake, NotesError
from slabwright.notes.models import Notes
from slabwright.notes.nodes import parse_nodes
from slabwright.notes.syntax import stop
from slabwright.notes.tidy import tidy_tree
from slabwright.notes.translate import translate
from slabwright.notes.values import Mapped

MAX_BYTES = 1_000_000  # a job of 200 slabs and 2,000 readings takes about 150,000

_START = """title: Juniper Court 7"""

# The first bytes of files that are often handed in by mistake.
_MAGIC: tuple[tuple[bytes, str], ...] = (
    (b"%PDF", "a PDF"),
    (b"PK\x03\x04", "a spreadsheet, a word processor's file or a zip archive"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet or word processor's file"),
    (b"\x1f\x8b", "a compressed file"),
)


def read_notes(path: str | os.PathLike[str]) -> Notes:
    """Return the job file at `path`.

    Raises NotesError, with every mistake that the file has, when it cannot be used; never reads more
    than MAX_BYTES.
    """
    place = Path(path)
    name = place.name or str(place)
    try:
        mode = os.stat(place).st_mode
        if stat.S_ISDIR(mode):
            inside = (place / "job.yaml").is_file()
            why = "this is a folder, not a job file" + (
                "; it holds a job.yaml: name that file" if inside else ""
            )
            raise stop(name, None, None, why, None)
        if not (stat.S_ISREG(mode) or stat.S_ISFIFO(mode)):
            raise stop(name, None, None, "this is a device, not a job file", None)
        data = head_of(place, MAX_BYTES)
    except FileNotFoundError:
        raise stop(name, None, None, f"there is no file {str(path)!r}", None) from None
    except PermissionError:
        raise stop(name, None, None, "the file may not be read: its permissions forbid it", None) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise stop(name, None, None, f"the file cannot be opened ({reason})", None) from None
    return parse_notes(data, name=name)


def parse_notes(text: str | bytes, *, name: str = "job.yaml") -> Notes:
    """Return the notes written in `text` (YAML 1.2 or JSON); `name` stands in the messages.

    Raises NotesError with every mistake, sorted by line.
    """
    tree, mistakes = parse_nodes(decode(text, name), name)
    if tree is None and not mistakes:
        why = "the file is empty: a job file begins with its title"
        raise stop(name, None, None, why, _START)
    if not isinstance(tree, Mapped):
        why = "a job file is keys with values, not a list or a single text"
        raise NotesError([*mistakes, Mistake(name, getattr(tree, "line", None), None, "", None, why, _START)])
    tidied, tidier = tidy_tree(tree, name)
    notes = None
    try:
        notes = Notes.model_validate(tidied)
    except ValidationError as error:
        mistakes += translate(error, tidied, tidier)
    check_tree(tidied, tidier)
    mistakes += tidier.mistakes
    if mistakes or notes is None:
        raise NotesError(mistakes)
    return notes


def decode(data: str | bytes, name: str) -> str:
    """Return a job file's text; UTF-8 with or without its mark, or UTF-16 with it."""
    if isinstance(data, str):
        if len(data) > MAX_BYTES:
            raise _too_large(name)
        return _ends(data.removeprefix("\ufeff"))
    if len(data) > MAX_BYTES:
        raise _too_large(name)
    for magic, what in _MAGIC:
        if data.startswith(magic):
            why = f"this is {what}, not a job file: a job file is plain text"
            raise stop(name, None, None, why, _START)
    wide = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    if data.startswith((codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)):
        raise stop(name, None, None, "the file is in UTF-32: save it as UTF-8", None)
    try:
        return _ends(data.decode("utf-16" if wide else "utf-8-sig"))
    except UnicodeDecodeError as error:
        if wide:
            raise stop(name, None, None, "the file's UTF-16 is broken: save it as UTF-8", None) from None
        line = data.count(b"\n", 0, error.start) + 1
        byte = f"0x{data[error.start]:02X}"
        why = f"the byte {byte} is not UTF-8 (an older encoding, such as Latin-1?): save the file as UTF-8"
        raise stop(name, line, None, why, None) from None


def _too_large(name: str) -> NotesError:
    why = f"the file is larger than {MAX_BYTES:,} bytes, far more than any job's notes: is it the right file"
    return stop(name, None, None, why, None)


def _ends(text: str) -> str:
    """Return the text with line ends as newlines, so that lines count as an editor counts them."""
    return text.replace("\r\n", "\n").replace("\r", "\n")
