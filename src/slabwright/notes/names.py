"""Names on site: pairs written with a hyphen ('A-B', 'old patio NE-G1')."""

from __future__ import annotations

from collections.abc import Collection


def split_pair(text: str, known: Collection[str]) -> tuple[str, str] | None:
    """Return the two known names that `text` joins with a hyphen, or None.

    Names may hold hyphens themselves; the split whose both halves are known is taken, and of two
    such splits the one with the longer first name.
    """
    cuts = [i for i, letter in enumerate(text) if letter in "-–—"]
    for cut in reversed(cuts):
        first, second = text[:cut].strip(), text[cut + 1 :].strip()
        if first in known and second in known:
            return first, second
    return None
