"""Write the generated parts of the docs anew, between their marks: `make docs`.

The tests hold that what stands in the docs is what this would write.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from slabwright.notes.reference import defaults_reference, reference

HERE = Path(__file__).parent
PARTS: dict[str, dict[str, Callable[[], str]]] = {
    "job-file.md": {"keys": reference, "defaults": defaults_reference},
}


def between(text: str, part: str, new: str) -> str:
    """Return `text` with what stands between the marks of `part` replaced."""
    begin, end = f"<!-- {part}: begin -->\n", f"<!-- {part}: end -->"
    head, rest = text.split(begin, 1)
    return head + begin + new + end + rest.split(end, 1)[1]


def main() -> None:
    """Rewrite every generated part."""
    for name, parts in PARTS.items():
        path = HERE / name
        text = path.read_text(encoding="utf-8")
        for part, made in parts.items():
            text = between(text, part, made())
        path.write_text(text, encoding="utf-8")
        print(f"wrote {name}: {', '.join(parts)}")


if __name__ == "__main__":
    main()
