"""Catalogues of translated texts (gettext): which languages there are, and a phrase in one of them."""

from __future__ import annotations

import gettext
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Literal

from sparkout.core.phrase import AsTyped, Phrase, capital

LANGUAGES = {"en": "English", "de": "Deutsch"}
"""Languages there is a catalogue for, each under its own name."""
DECIMAL_MARKS: dict[str, Literal[".", ","]] = {"en": ".", "de": ","}
"""The decimal mark each language is usually read with; whoever reads may choose the other."""
CHECKED = {"en"}
"""Languages whose trade words a native speaker of the trade has read; the others say that they want that."""
_FOLDER = Path(__file__).parent / "locale"


@cache
def catalogue(language: str) -> gettext.NullTranslations:
    """Return the catalogue of a language, read from its `.po` file; English is the texts themselves."""
    path = _FOLDER / language / "LC_MESSAGES" / "sparkout.po"
    if language == "en" or not path.exists():
        return gettext.NullTranslations()
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    compiled = BytesIO()
    with path.open("rb") as file:
        write_mo(compiled, read_po(file, locale=language))
    compiled.seek(0)
    return gettext.GNUTranslations(compiled)


def translated(text: str, language: str) -> str:
    """Return a text in a language, its parts translated too; a text without an entry stays as it is.

    Examples
    --------
    >>> translated("Bedknife", "en")
    'Bedknife'
    """
    found = catalogue(language)
    if not text or isinstance(text, AsTyped):
        return text
    if not isinstance(text, Phrase):
        return found.gettext(text)
    template = text.template
    if text.how_many is None:
        template = found.gettext(template) if template else ""
    else:
        template = found.ngettext(text.singular, text.template, text.how_many)
    if not text.parts:
        return template
    told = template.format(**{name: _part(value, language) for name, value in text.parts.items()})
    return capital(told) if text.large else told


def _part(value: object, language: str) -> object:
    return translated(value, language) if isinstance(value, str) else value
