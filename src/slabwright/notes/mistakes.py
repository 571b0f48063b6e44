"""Mistakes in a job file: where, what was written, why it cannot be, and what would do."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches

from slabwright.notes.said import example_in, say

SHOWN = 100  # lines of mistakes that one error prints; the rest are counted
LONGEST = 60  # characters of a written value that a message repeats
_WRITE = {"en": "Write for example", "es": "Escriba por ejemplo"}
_MORE = {"en": "... and {n} more", "es": "... y {n} más"}


@dataclass(frozen=True, slots=True)
class Mistake:
    """One mistake. Line and column count from 1; `field` is the key's path ('slabs.1.width').

    `why` and `example` are in English; `say` gives the mistake in another language.
    """

    file: str
    line: int | None
    column: int | None
    field: str
    written: str | None
    why: str
    example: str | None

    def say(self, lang: str) -> Mistake:
        """Return the mistake with its reason and example in `lang` ('en' or 'es').

        What was written, and keys, stay as they are; so does a reason that has no words in `lang`.
        """
        if lang == "en":
            return self
        example = None if self.example is None else example_in(self.example, lang)
        return replace(self, why=say(self.why, lang), example=example)

    def text(self, lang: str = "en") -> str:
        """Return the mistake as one line in `lang`, ending with an example that can be read."""
        return self.say(lang)._line(_WRITE.get(lang, _WRITE["en"]))

    def __str__(self) -> str:
        """Return the mistake as one line in English."""
        return self.text()

    def _line(self, write: str) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        parts = [f"{place}:"]
        if self.field:
            parts.append(f"{self.field}:")
        if self.written is not None:
            parts.append(f'"{shorten(self.written)}"')
        parts.append(self.why if self.why.endswith("?") else self.why + ".")
        if self.example:
            parts.append(f"{write} {self.example}")
        return _printable(" ".join(parts))


class NotesError(Exception):
    """The job file cannot be used; `mistakes` holds everything that is wrong with it, by line."""

    def __init__(self, mistakes: Iterable[Mistake]) -> None:
        """Keep the mistakes sorted by line, mistakes of the whole file first."""
        self.mistakes: tuple[Mistake, ...] = tuple(
            sorted(mistakes, key=lambda m: (m.line or 0, m.column or 0, m.field))
        )
        super().__init__(self.mistakes)

    def text(self, lang: str = "en") -> str:
        """Return one line a mistake, in `lang` ('en' or 'es')."""
        lines = [m.text(lang) for m in self.mistakes[:SHOWN]]
        if len(self.mistakes) > SHOWN:
            lines.append(_MORE.get(lang, _MORE["en"]).format(n=len(self.mistakes) - SHOWN))
        return "\n".join(lines)

    def __str__(self) -> str:
        """Return one line a mistake, in English."""
        return self.text()


def _printable(text: str) -> str:
    """Return the text with every character that could break the line or move the cursor as '?'."""
    return "".join(c if c.isprintable() else "?" for c in text)


def shorten(text: str) -> str:
    """Return `text` on one line, printable, and no longer than a message can bear."""
    flat = _printable(" ".join(text.split()))
    return flat if len(flat) <= LONGEST else flat[: LONGEST - 3] + "..."


def dotted(path: Sequence[str | int]) -> str:
    """Return a path as it is printed; rows of a list count from 1."""
    return ".".join(str(part + 1) if isinstance(part, int) else shorten(part) for part in path)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word most like `word`, or None when none is like it."""
    words = {k.casefold(): k for k in known}
    hits = get_close_matches(word.casefold(), list(words), n=1, cutoff=0.6)
    return words[hits[0]] if hits else None


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Return '; did you mean X?', or nothing when no known word is near."""
    near = nearest(word, known)
    return f"; did you mean {near}?" if near else ""


def twice(first: int | None, second: int | None) -> str:
    """Return why a key that is written on two lines (or twice on one) cannot stand."""
    if first == second:
        return "is written twice on this line: keep one"
    return f"is written twice, on lines {first} and {second}: keep one"
