"""Write the generated parts of the docs anew, between their marks: `make docs`.

The tests hold that what stands in the docs is what this would write.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

import method_pages  # noqa: E402 - beside this file, not in the package
import reference as made  # noqa: E402
import right  # noqa: E402
import settings_pages  # noqa: E402
import sheet_pages  # noqa: E402

from slabwright.notes.reference import defaults_reference, reference  # noqa: E402

PARTS: dict[str, dict[str, Callable[[], str]]] = {
    "job-file.md": {"keys": reference, "defaults": defaults_reference},
    "findings.md": {"findings": made.findings},
    "commands.md": {"commands": made.commands},
    "nomenclature.md": {"symbols": method_pages.symbols, "quantities": made.quantities},
    "sources.md": {"sources": made.sources},
    "sheets.md": {
        "sheets": sheet_pages.sheet_list,
        "papers": sheet_pages.paper_list,
        "drawings": sheet_pages.drawing_list,
        "tables": sheet_pages.table_list,
    },
    "settings.md": {"environment": settings_pages.environment, "shop": settings_pages.shop},
    "api.md": {"addresses": settings_pages.api, "errors": settings_pages.errors},
    **{
        f"methods/{page}": {
            "sources": partial(method_pages.sources_of, page),
            "checks": partial(method_pages.checks_of, page),
        }
        for page in method_pages.CODE
    },
}


def marks(part: str) -> tuple[str, str]:
    """Return the lines between which a generated part stands."""
    return f"<!-- {part}: begin -->\n", f"<!-- {part}: end -->"


def stale() -> Iterator[tuple[Path, str]]:
    """Yield every file whose generated parts are not what would be written now, with its new text."""
    for name, parts in PARTS.items():
        path = HERE / name
        text = new = path.read_text(encoding="utf-8")
        for part, make in parts.items():
            begin, end = marks(part)
            head, rest = new.split(begin, 1)
            new = head + begin + make() + end + rest.split(end, 1)[1]
        if new != text:
            yield path, new


def main() -> None:
    """Rewrite every generated part that is not current."""
    for path, text in list(stale()):
        path.write_text(text, encoding="utf-8")
        print(f"wrote docs/{path.name}")
    if right.digest() not in right.PAGE.read_text(encoding="utf-8"):
        right.PAGE.write_text(right.page(right.run()), encoding="utf-8")
        print(f"wrote docs/{right.PAGE.name}")


if __name__ == "__main__":
    main()
