"""`{% say "Bedknife" %}`: page texts in the reader's language, vocabulary and units; marks for verdicts."""

from __future__ import annotations

import datetime
import re
from functools import cache
from typing import TYPE_CHECKING, Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.timezone import localtime

from sparkout.core.days import at_time, dated
from sparkout.showing import Showing
from sparkout.translation import LANGUAGES, translated
from sparkout.web.shell.read import as_read

if TYPE_CHECKING:
    from django.template import Context

    from sparkout.telling.section import Table

register = template.Library()
_MARKS = {
    "conforms": "good",
    "does not conform": "bad",
    "undecided": "ask",
    "not known": "ask",
    "agree": "good",
    "do not agree: find out why": "bad",
}

_PARTED = re.compile(r"(?<=\d) (?=(?:mm|thou|in|h|s|N|%|K)(?!\w))")
"""The blank between a number and its unit, where a line must not end."""

PHONE = 36
"""Letters that stand side by side on a phone, blanks between columns included; own choice, for 390 px."""
BROAD = 56
"""Letters that stand side by side in half a desktop, counted likewise; own choice, for 660 px."""
SHORT = 14
"""Letters of a cell of which two stand side by side there, each with its heading; own choice."""


@cache
def _marks() -> dict[str, str]:
    """The marks by the verdict's words in every language."""
    return {translated(word, code).lower(): kind for word, kind in _MARKS.items() for code in LANGUAGES}


@register.simple_tag(takes_context=True)
def say(context: Context, text: str, **values: Any) -> str:
    """Return a text written in the code's words, told to this reader; `{name}` in it is filled in as it stands."""
    showing: Showing = context["showing"]
    told = showing.say(text)
    return told.format(**values) if values else told


@register.simple_tag(takes_context=True)
def day(context: Context, on: datetime.date | None) -> str:
    """Return a day, told to this reader; a dash for none."""
    showing: Showing = context["showing"]
    if isinstance(on, datetime.datetime):
        on = localtime(on)
    return showing.say(dated(on)) if on else "–"


@register.simple_tag(takes_context=True)
def moment(context: Context, at: datetime.datetime) -> str:
    """Return a moment, told to this reader by the clock on the wall."""
    showing: Showing = context["showing"]
    return showing.say(at_time(localtime(at)))


@register.simple_tag(takes_context=True)
def read(context: Context, typed: str | None) -> str:
    """Return what was typed as this reader reads it; a dash for nothing."""
    return as_read(typed, context["showing"]) if typed else "–"


@register.filter
def mark(text: str) -> str | SafeString:
    """Return a verdict as a mark (shape, word and colour), anything else as it is, no unit parted from its number."""
    kind = _marks().get(text.strip().lower())
    if kind is None:
        return whole(text)
    return format_html('<span class="mark {}">{}</span>', kind, text.lower())


@register.filter
def whole(text: str) -> str:
    """Return a text in which no line ends between a number and its unit."""
    return _PARTED.sub("\N{NO-BREAK SPACE}", text)


@register.filter
def on_a_phone(table: Table) -> str:
    """Return the classes that set a table row by row where its columns have no room side by side.

    On a phone, or (broad) with anything less than a desktop's width.
    """
    columns = list(zip(table.head, *table.rows, strict=True))
    words = [max(len(word) for cell in column for word in re.split(r"[ \n]+", whole(cell))) for column in columns]
    letters = sum(words) + len(words)
    if letters <= PHONE:
        return ""
    cells = [cell for row in table.rows for cell in row[1:]]
    short = " short" if all(len(text) <= SHORT for text in (*cells, *table.head[1:])) else ""
    return f"cards{short}{' broad' if letters > BROAD else ''}"


@register.filter
def under(row: tuple[str, ...], heads: tuple[str, ...]) -> list[tuple[str, str]]:
    """Return the cells of a row, each under its heading."""
    return list(zip(heads, row, strict=True))
