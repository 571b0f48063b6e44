"""Options as they are written: in words, 'salt finish + 1 ft wider', or as what=to, 'finish=salt'.

    [slab: ]words [+ words ...] [after OPTION ...]          1 in thicker after exposed stone finish
    what[@slab]=to [+ what[@slab]=to ...] [after OPTION ...]    thicker=1 in after finish=exposed

Words are those that papers call an option by, in English or Spanish. Joined by '+' they are one option with
one price. 'after' prices an option on top of others, which are offered too; circles and options that are not
there become findings when they are priced.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from typing import get_args

from slabwright.measure import LANGUAGES, Both, MeasureError, Quantity, System, read
from slabwright.money.model import Change, Option
from slabwright.money.phrases import Phrase, say
from slabwright.notes import said
from slabwright.notes.defaults import specify
from slabwright.notes.models import Finish, Notes, SteelChoice

KINDS_OF_CHANGE = ("finish", "steel", "thicker", "wider", "take-out", "drain")
EXAMPLES = Both(
    "exposed stone finish; 1 in thicker; 1 ft wider; fibre in the concrete; take out old patio; "
    "drain P1, P2; "
    "salt finish + 1 ft wider; 1 in thicker after exposed stone finish (finish=exposed does too)",
    "acabado de agregado expuesto; 1 in más de espesor; 1 ft más de ancho; fibra en el concreto; "
    "quitar old patio; dren P1, P2; acabado de sal + 1 ft más de ancho; "
    "1 in más de espesor después de acabado de sal (también finish=exposed)",
)
CHOICES: dict[str, tuple[str, ...]] = {"finish": get_args(Finish), "steel": get_args(SteelChoice)}
"""What a slab has one of: its choices."""
_SIZES = ("thicker", "wider")
_JOIN = re.compile(rf"\s*\+\s*(?=(?:{'|'.join(KINDS_OF_CHANGE)})\s*[=@])")
_AFTER = re.compile(r"\s+(?:after|después de|despues de)\s+")
_KEYS = {"finish": "finish-{}", "steel": "in-{}", "take-out": "in-take-out", "drain": "in-drain"}
_WIDER = r"(?:wider|más de ancho|más anch[oa])"
_THICKER = r"(?:thicker|más de espesor|más grues[oa])"
_WORDS = (
    ("thicker", re.compile(rf"(?:(?P<to>.+?)\s+{_THICKER}|{_THICKER}\s+(?:by\s+)?(?P<by>.+))")),
    ("wider", re.compile(rf"(?:(?P<to>.+?)\s+{_WIDER}|{_WIDER}\s+(?:by\s+)?(?P<by>.+))")),
    (
        "take-out",
        re.compile(
            r"(?:take out|break out|breaking out and hauling away:|quitar|demolición y retiro:)\s+(?P<to>.+)"
        ),
    ),
    ("drain", re.compile(r"(?:trench )?(?:drain|dren)(?: from| de)?\s+(?P<to>.+)")),
)
KINDS_ES = {
    "acabado": "finish",
    "acero": "steel",
    "refuerzo": "steel",
    "más grueso": "thicker",
    "más espesor": "thicker",
    "más ancho": "wider",
    "quitar": "take-out",
    "dren": "drain",
}
CHOICES_ES = {
    "escobillado": "broom",
    "expuesto": "exposed",
    "agregado expuesto": "exposed",
    "sal": "salt",
    "flotado": "float",
    "estampado": "stamped",
    "varilla": "bars",
    "fibra de vidrio": "gfrp",
    "malla": "mesh",
    "fibra": "fiber",
    "sin acero": "none",
}
"""What may stand for what=to in Spanish."""
_KIND_ES = re.compile(rf"\b({'|'.join(KINDS_ES)})(?=\s*[=@])", re.IGNORECASE)
_CHOICE_ES = re.compile(
    rf"=\s*({'|'.join(sorted(CHOICES_ES, key=len, reverse=True))})(?=\s*(?:\+|$))", re.IGNORECASE
)
_FEWEST = 4  # letters of a name that may be given in part


class WantedError(ValueError):
    """An option that cannot be understood; `said` tells what was written and what would do."""

    def __init__(self, written: str, reason: str = "", example: str = "") -> None:
        self.written, self.reason, self.example = written, reason, example
        super().__init__(self.said("en"))

    def said(self, lang: str) -> str:
        """Return what is wrong and what would do, in `lang`."""
        if self.reason:
            why = said.say(self.reason, lang)
            return say(
                Phrase("wanted-size", {"written": self.written, "why": why, "example": self.example}), lang
            )
        return say(Phrase("wanted-unknown", {"written": self.written, "examples": EXAMPLES}), lang)


def options_of(written: Sequence[str], units: System = System.IMPERIAL) -> tuple[Option, ...]:
    """Return options from how they are written, in their order; WantedError for one that cannot be read."""
    return tuple(option_of(one, units) for one in written)


def usual(notes: Notes) -> tuple[str, ...]:
    """Return options that a job may be offered with, as what=to: other finishes, steel, thicker, wider."""
    specs = specify(notes)
    now = {"finish": {spec.finish for spec in specs}, "steel": {spec.steel.choice for spec in specs}}
    found = [f"{what}={to}" for what, choices in CHOICES.items() for to in choices if now[what] != {to}]
    metric = notes.units is System.METRIC
    found += ["thicker=20 mm"] if metric else ["thicker=1/2 in", "thicker=1 in"]
    if all(slab.width is not None for slab in notes.slabs):
        found.append("wider=30 cm" if metric else "wider=1 ft")
    return (*found, *(f"take-out={old.name}" for old in notes.existing if old.keeps != "nothing"))


def option_of(written: str, units: System = System.IMPERIAL) -> Option:
    """Return one option; its key is its own part as what=to, single-spaced. WantedError if unreadable."""
    own, *under = (_key(_in_code(part)) for part in _AFTER.split(written))
    changes = tuple(_change(part, written) for part in _JOIN.split(own))
    en, es = (" + ".join(_name(change, lang, units) for change in changes) for lang in ("en", "es"))
    return Option(own, en, es, changes, tuple(under))


def _in_english(written: str) -> str:
    """Return what=to that is written in Spanish as it is written in English; any other as it is."""
    text = _KIND_ES.sub(lambda hit: KINDS_ES[hit[1].lower()], written)
    return _CHOICE_ES.sub(lambda hit: f"={CHOICES_ES[hit[1].lower()]}", text)


def _in_code(written: str) -> str:
    """Return an option's own part as what=to, where it is written in words; else as it was written."""
    if "=" in written:
        return _in_english(written)
    parts = [_coded(" ".join(part.split())) for part in written.split("+")]
    return written if None in parts else " + ".join(part for part in parts if part)


def _coded(words: str) -> str | None:
    """Return one change in words as what[@slab]=to, None where no words of ours are in it."""
    slab, colon, rest = words.partition(": ")
    if colon and not slab.casefold().startswith(("breaking out", "demolición")):
        inner = _coded(rest)
        what, _, to = (inner or "").partition("=")
        return f"{what}@{slab}={to}" if inner else None
    spoken = words.casefold()
    if spoken in _called():
        return _called()[spoken]
    for what, pattern in _WORDS:
        found = pattern.fullmatch(spoken)
        if found:  # from what was written, for names of slabs and points keep their capitals
            begin, end = found.span("to") if found["to"] is not None else found.span("by")
            return f"{what}={words[begin:end]}" if len(spoken) == len(words) else None
    near = {code for name, code in _called().items() if spoken in name} if len(spoken) >= _FEWEST else set()
    return near.pop() if len(near) == 1 else None


@cache
def _called() -> dict[str, str]:
    """Return every choice as what=to by what it is called, in both languages and by its key."""
    named: dict[str, str] = {}
    for what, choices in CHOICES.items():
        for choice in choices:
            code = f"{what}={choice}"
            named[choice] = code
            for lang in LANGUAGES:
                named[say(Phrase(_KEYS[what].format(choice)), lang).casefold()] = code
    return named


def _key(part: str) -> str:
    """Return an option's own words with their spaces as one would write them."""
    text = " ".join(part.split())
    return re.sub(r"\s*([=@])\s*", r"\1", _JOIN.sub(" + ", text))


def _change(written: str, whole: str) -> Change:
    before, sign, to = (part.strip() for part in written.partition("="))
    what, _, slab = (part.strip() for part in before.partition("@"))
    if not sign or not to or what not in KINDS_OF_CHANGE:
        raise WantedError(whole)
    try:
        more = read("length", to) if what in _SIZES else 0.0
    except MeasureError as error:
        raise WantedError(whole, error.reason, f"{what}=1 in") from error
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
