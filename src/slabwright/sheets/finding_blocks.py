"""How findings are set on a page: stops large, cautions and notes closer, those of one kind together."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from slabwright.findings import Finding, Level
from slabwright.measure import System
from slabwright.sheets.lettering import clean, typeset
from slabwright.sheets.pages import FindingBlock
from slabwright.sheets.words import word


def finding_block(block: FindingBlock, *, system: System, lang: str) -> dict[str, Any]:
    """Return the template's data of findings, the gravest first."""
    rank = {level: n for n, level in enumerate(Level)}
    ordered = sorted(block.findings, key=lambda f: rank[f.level])
    return {
        "kind": "findings",
        "heading": _set(block.heading),
        "findings": [_entry(one, system=system, lang=lang) for one in together(ordered)],
        "empty": word("no-findings", lang),
    }


def together(findings: Sequence[Finding]) -> list[list[Finding]]:
    """Return findings in order, those of one code in one list at the place of the first."""
    heaps: dict[tuple[str, str, str], list[Finding]] = {}
    for one in findings:
        heaps.setdefault((one.level, one.room, one.code), []).append(one)
    return list(heaps.values())


def _set(text: str) -> str:
    return typeset(clean(text))


def _entry(heap: list[Finding], *, system: System, lang: str) -> dict[str, Any]:
    """Return one entry: every place and what was noticed there; why, what to do and source said once."""
    texts = [one.text(system=system, lang=lang) for one in heap]
    level = str(heap[0].level)
    # Small letters keep their fractions as they are typed: a small set fraction cannot be read.
    put = _set if level == "stop" else clean
    lines = sorted({one.line for one in heap if one.line is not None})
    sources = [word("source", lang) + ": " + "; ".join(dict.fromkeys(t.source for t in texts))]
    if lines:
        shown = ", ".join(map(str, lines))
        sources.append(word("line" if len(lines) == 1 else "lines", lang, n=shown))
    return {
        "level": level,
        "mark": word(level, lang),
        # a place that the sentence names itself is not said twice
        "said": [{"where": "" if t.where in t.what else put(t.where), "what": put(t.what)} for t in texts],
        "why": [put(why) for why in dict.fromkeys(t.why for t in texts)],
        "do": [put(do) for do in dict.fromkeys(t.do for t in texts)],
        "source": clean(" · ".join(sources)),
    }
