"""The catalogues of translated texts: a template from the code, and each language's `.po` file brought up to it.

python docs/make.py                            writes the template and brings every language up to it
python docs/make.py --untranslated de          prints what has no translation yet, as JSON
python docs/make.py --translated de FILE       takes translations in: {"text": "Text", "{n} pass": ["one", "many"]}
"""

from __future__ import annotations

import datetime
import io
import json
import string
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po
from docs.making.texts import SOURCE, texts

from sparkout.translation import CHECKED, LANGUAGES

LOCALE = SOURCE / "locale"
TEMPLATE = LOCALE / "sparkout.pot"
_DAY = datetime.datetime(2026, 11, 25, tzinfo=datetime.UTC)
"""Catalogues carry no moment of their making: the same texts make the same file."""
Translation = str | tuple[str, ...]


def path_of(language: str) -> Path:
    """Return where a language's catalogue lies."""
    return LOCALE / language / "LC_MESSAGES" / "sparkout.po"


def languages() -> list[str]:
    """Return the languages that have a catalogue: English is the texts themselves."""
    return [language for language in LANGUAGES if language != "en"]


def known(language: str) -> dict[str, Translation]:
    """Return what a language's catalogue says, by the English text."""
    path = path_of(language)
    if not path.exists():
        return {}
    with path.open("rb") as file:
        read = read_po(file, locale=language)
    return {_id(m.id): _whole(m.string) for m in read if m.id and m.string and any(_whole_tuple(m.string))}


def _id(of: str | tuple[str, ...] | list[str]) -> str:
    return of if isinstance(of, str) else of[0]


def _whole(told: str | tuple[str, ...] | list[str]) -> Translation:
    return told if isinstance(told, str) else tuple(told)


def _whole_tuple(told: str | tuple[str, ...] | list[str]) -> tuple[str, ...]:
    return (told,) if isinstance(told, str) else tuple(told)


def _catalogue(language: str | None, says: dict[str, Translation]) -> Catalog:
    comment = "Texts of Sparkout, gathered by docs/make.py: do not edit the English."
    if language is not None and language not in CHECKED:
        comment += f"\n{LANGUAGES[language]}: wants a check by a native speaker of the trade."
    made = Catalog(
        locale=language,
        domain="sparkout",
        header_comment="\n".join(f"# {line}" for line in comment.split("\n")),
        project="Sparkout",
        version="0",
        msgid_bugs_address="none",
        creation_date=_DAY,
        revision_date=_DAY,
        last_translator="nobody named",
        language_team="none",
        fuzzy=False,
    )
    for text in texts():
        told = says.get(text.singular, "")
        wanted = (text.singular, text.plural) if text.plural else text.singular
        if text.plural:
            told = told if isinstance(told, tuple) else ("", "")
        elif isinstance(told, tuple):
            told = told[-1]
        made.add(wanted, told, locations=[(place, None) for place in text.places])
    return made


def _text(catalogue: Catalog) -> str:
    written = io.BytesIO()
    write_po(written, catalogue, width=0)
    return written.getvalue().decode("utf-8")


def pages() -> dict[Path, str]:
    """Return every catalogue as it should stand."""
    return {TEMPLATE: _text(_catalogue(None, {}))} | {
        path_of(language): _text(_catalogue(language, known(language))) for language in languages()
    }


def untranslated(language: str) -> list[dict[str, str | list[str]]]:
    """Return the texts a language does not say yet, with where they stand."""
    says = known(language)
    return [
        {"text": text.singular, "plural": text.plural, "places": list(text.places)}
        for text in texts()
        if text.singular not in says or (text.plural and not isinstance(says[text.singular], tuple))
    ]


def take(language: str, path: Path) -> int:
    """Take translations in from a JSON file; return how many.

    Raises
    ------
    ValueError
        When a translation's {parts} are not those of its text.
    """
    given = {text: tuple(t) if isinstance(t, list) else t for text, t in json.loads(path.read_text("utf-8")).items()}
    for text, told in given.items():
        for one in _whole_tuple(told):
            if set(parts(one)) - set(parts(text)) or (
                one is _whole_tuple(told)[-1] and set(parts(one)) != set(parts(text))
            ):
                raise ValueError(f"{text!r} and {one!r} have different parts")
    target = path_of(language)
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(_text(_catalogue(language, known(language) | given)), encoding="utf-8")
    return len(given)


def parts(text: str) -> list[str]:
    """Return the names of a template's parts; a text that is no template has none."""
    try:
        return sorted(name for _, name, _, _ in string.Formatter().parse(text) if name is not None)
    except ValueError:
        return []
