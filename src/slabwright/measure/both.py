"""The two languages of every word that a person reads, and words that carry both."""

from __future__ import annotations

from dataclasses import dataclass

LANGUAGES = ("en", "es")


@dataclass(frozen=True, slots=True)
class Both:
    """Words in English and in Spanish."""

    en: str
    es: str

    def of(self, lang: str) -> str:
        """Return the words in 'en' or 'es'; KeyError for another language."""
        return {"en": self.en, "es": self.es}[lang]
