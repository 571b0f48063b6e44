"""The error of a value that cannot be read: what was written, where, why not, and what would do."""

from __future__ import annotations

_WINDOW = 72


class MeasureError(ValueError):
    """A value that cannot be read.

    `kind` is the kind that was looked for, `text` what was written, `at` the character [0-based] that
    the reading stopped at, `reason` why, and `example` a way of writing it that can be read.
    """

    kind: str
    text: str
    at: int
    reason: str
    example: str

    def __init__(self, kind: str, text: str, at: int, reason: str, example: str) -> None:
        super().__init__(kind, text, at, reason, example)
        self.kind, self.text, self.at, self.reason, self.example = kind, text, at, reason, example

    def _shown(self) -> tuple[str, int]:
        """Return a printable stretch of the text and the caret's place in it [characters]."""
        first = max(0, self.at - _WINDOW // 2)
        stretch = self.text[first : first + _WINDOW]
        # One character stays one character, so that the caret stands under the right one.
        shown = "".join(
            c if c.isprintable() else " " if c.isspace() else "\N{REPLACEMENT CHARACTER}" for c in stretch
        )
        before = "..." if first else ""
        after = "..." if first + _WINDOW < len(self.text) else ""
        return before + shown + after, self.at - first + len(before)

    def __str__(self) -> str:
        """Return three lines: the text, a caret under the character, the reason with an example."""
        shown, at = self._shown()
        return f"{shown}\n{' ' * at}^\n{self.reason}; for example {self.example}"

    def one_line(self) -> str:
        """Return the same on one line, the place given as a count from 1."""
        shown, _ = self._shown()
        return f"cannot read {shown!r} at character {self.at + 1}: {self.reason}; for example {self.example}"
