"""Options as they are written: 'finish=exposed', 'finish=salt + wider=1 ft', 'steel=fiber after finish=salt'.

    what[@slab]=to [+ what[@slab]=to ...] [after OPTION ...]

Joined by '+' they are one option with one price. 'after' prices an option on top of others, which are
offered too; circles and options that are not there become findings when they are priced.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from slabwright.measure import MeasureError, Quantity, System, read
from slabwright.money.model import Change, Option
from slabwright.money.phrases import Phrase, say

KINDS_OF_CHANGE = ("finish", "steel", "thicker", "wider", "take-out", "drain")
EXAMPLES = (
    "finish=exposed, thicker=1/2 in, wider=1 ft, steel=fiber, take-out=old patio, drain=P1,P2, "
    "finish=salt + wider=1 ft, thicker=1 in after finish=exposed"
)
_SIZES = ("thicker", "wider")
_JOIN = re.compile(rf"\s*\+\s*(?=(?:{'|'.join(KINDS_OF_CHANGE)})\s*[=@])")
_AFTER = re.compile(r"\s+after\s+")
_KEYS = {"finish": "finish-{}", "steel": "in-{}", "take-out": "in-take-out", "drain": "in-drain"}


class WantedError(ValueError):
    """An option that cannot be understood; str() says what was written and what would do."""


def options_of(written: Sequence[str], units: System = System.IMPERIAL) -> tuple[Option, ...]:
    """Return options from how they are written, in their order; WantedError for one that cannot be read."""
    return tuple(option_of(one, units) for one in written)


def option_of(written: str, units: System = System.IMPERIAL) -> Option:
    """Return one option; its key is its own part as written, single-spaced. WantedError if unreadable."""
    own, *under = (_key(part) for part in _AFTER.split(written))
    changes = tuple(_change(part, written) for part in _JOIN.split(own))
    en, es = (" + ".join(_name(change, lang, units) for change in changes) for lang in ("en", "es"))
    return Option(own, en, es, changes, tuple(under))


def _key(part: str) -> str:
    """Return an option's own words with their spaces as one would write them."""
    text = " ".join(part.split())
    return re.sub(r"\s*([=@])\s*", r"\1", _JOIN.sub(" + ", text))


def _change(written: str, whole: str) -> Change:
    before, sign, to = (part.strip() for part in written.partition("="))
    what, _, slab = (part.strip() for part in before.partition("@"))
    if not sign or not to or what not in KINDS_OF_CHANGE:
        raise WantedError(f'"{whole}" is none of: {EXAMPLES}')
    try:
        more = read("length", to) if what in _SIZES else 0.0
    except MeasureError as error:
        raise WantedError(f'"{whole}": {error.reason}; write for example {what}=1 in') from error
    return Change(
        what,  # type: ignore[arg-type]  # one of KINDS_OF_CHANGE, as checked
        slab=slab or None,
        to="" if what in (*_SIZES, "drain") else to,
        more=more,
        points=tuple(point.strip() for point in to.split(",")) if what == "drain" else (),
    )


def _name(change: Change, lang: str, units: System) -> str:
    """Return what a change is called on paper; a choice that has no name is called as it was written."""
    if change.what in _SIZES:
        size = Quantity("inches" if change.what == "thicker" else "length", change.more)
        said = say(Phrase(f"option-{change.what}", {"more": size}), lang, units)
    else:
        try:
            said = say(Phrase(_KEYS[change.what].format(change.to), {"name": change.to}), lang, units)
        except KeyError:
            said = change.to
    said = said[:1].upper() + said[1:]
    return say(Phrase("option-at", {"slab": change.slab, "what": said}), lang, units) if change.slab else said
