"""What was typed into a reading box, taken apart: place, blade, one value or the two leaves of a feeler.

Nothing is counted here: the texts go on as typed, a bare number with the unit that stood beside the box.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.units import is_bare

PLACES = {
    "left": "left",
    "l": "left",
    "left end": "left",
    "left quarter": "left quarter",
    "lq": "left quarter",
    "centre": "centre",
    "center": "centre",
    "c": "centre",
    "middle": "centre",
    "m": "centre",
    "right quarter": "right quarter",
    "rq": "right quarter",
    "right": "right",
    "r": "right",
    "right end": "right",
    "links": "left",
    "linkes ende": "left",
    "linkes viertel": "left quarter",
    "mitte": "centre",
    "rechtes viertel": "right quarter",
    "rechts": "right",
    "rechtes ende": "right",
}
"""What a place may be called, in every language there is: who reads German may type either."""
_PLACE = re.compile(rf"^({'|'.join(sorted(map(re.escape, PLACES), key=len, reverse=True))})\b[\s:,]*", re.IGNORECASE)
_BLADE = re.compile(r"^(?:blade|b|messer)\s*(\d{1,2})\b[\s:,]*", re.IGNORECASE)
_AGAIN = re.compile(r"^(?:again|nochmals?|noch\s+einmal|wieder)\b[\s:,]*", re.IGNORECASE)
_DECIMAL = r"[+\-−]?(?:\d+(?:[.,]\d*)?|[.,]\d+)"
_NUMBER = rf"(?:(?:\d+[\s-]+)?\d+\s*/\s*\d+|{_DECIMAL})"
_STOPS = r"(?:does\s*n[o']?t\s+go|does\s+not|no[\s-]?go(?:es)?|stops?|not|(?:geht\s+)?nicht)"
_GOES = r"(?:goes|go|geht)"
_UNIT = r"""[^\d\s.,;/\-−+]*"""
_LEAF = rf"(?P<{{0}}>{_NUMBER}\s*?{_UNIT})"
_APART = r"\s*[,;/]?\s*(?:(?:and|und)\s+)?"
_NAMED = tuple(
    re.compile(form, re.IGNORECASE)
    for form in (
        rf"(?:{_GOES}\s*)?{_LEAF.format('goes')}(?:\s+{_GOES})?{_APART}{_STOPS}\s*{_LEAF.format('stops')}",
        rf"{_LEAF.format('goes')}\s+{_GOES}{_APART}{_LEAF.format('stops')}\s+{_STOPS}",
        rf"{_STOPS}\s*{_LEAF.format('stops')}{_APART}{_GOES}\s*{_LEAF.format('goes')}",
        rf"{_LEAF.format('stops')}\s+{_STOPS}",
        rf"{_GOES}\s*{_LEAF.format('goes')}",
        rf"{_LEAF.format('goes')}\s+{_GOES}",
        rf"{_STOPS}\s*{_LEAF.format('stops')}",
    )
)
_TWO = re.compile(
    rf"(?P<goes>{_DECIMAL}\s*?{_UNIT})(?:\s+(?:(?:to|bis)\s+|[-–/]\s+)?|(?<=[.,]\d)[-–/](?=\d*[.,])|(?<=[.,]\d\d)[-–/](?=\d*[.,]))"
    rf"(?P<stops>{_DECIMAL}\s*?{_UNIT})"
)
_WORDS = re.compile(rf"\b(?:{_STOPS}|{_GOES})\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Typed:
    """What a line says: the fields of a reading as typed; place and blade only when the line names them.

    `again`: a repeat, to stand beside what is on file at the place.
    """

    fields: dict[str, str]
    at: str = ""
    blade: int | None = None
    again: bool = False

    @property
    def struck_out(self) -> bool:
        """Whether the line only asks to take the reading out."""
        return not self.fields


def understood(line: str, unit: str = "", *, leaves: bool = False) -> Typed:
    """Return what a typed line says; a bare number is given `unit`, the one shown beside its box.

    `leaves`: the box takes a feeler's two leaves. A lone '-' asks to take the reading out.

    Raises
    ------
    Refusal
        When nothing is typed, or leaves are named where one value is wanted.

    Examples
    --------
    >>> understood("2 thou", "mm").fields, understood(".05", "mm").fields
    ({'value': '2 thou'}, {'value': '.05 mm'})
    >>> understood("left go 1.9 nogo 2.0", "mm", leaves=True)
    Typed(fields={'goes': '1.9 mm', 'does_not_go': '2.0 mm'}, at='left', blade=None, again=False)
    >>> understood("again 127.4", "mm").again
    True
    """
    text = " ".join(line.split())
    at, blade, again = "", None, False
    while True:
        place, numbered, repeated = _PLACE.match(text), _BLADE.match(text), _AGAIN.match(text)
        if repeated is not None and not again:
            again, text = True, text[repeated.end() :]
        elif place is not None and not at:
            at, text = PLACES[place[1].lower()], text[place.end() :]
        elif numbered is not None and blade is None:
            blade, text = int(numbered[1]), text[numbered.end() :]
        else:
            break
    if text in ("-", "−", "–"):
        return Typed({}, at, blade, again)
    if not text:
        raise Refusal(phrase("nothing to read: type what the gauge shows, like 127.4, 2 thou or .05"))
    fields = _leaves(text, unit) or {"value": _counted(text, unit)}
    if not leaves and "value" not in fields:
        raise Refusal(phrase("'{text}' names two leaves, but this box takes one value", text=text))
    return Typed(fields, at, blade, again)


def _leaves(text: str, unit: str) -> dict[str, str] | None:
    """Return the two leaves, or the one that is named; None when the line is one value.

    A unit typed once counts for both leaves.
    """
    found = next((match for form in (*_NAMED, _TWO) if (match := form.fullmatch(text))), None)
    if found is None:
        if _WORDS.search(text):
            raise Refusal(phrase("'{text}' is not understood: type the leaves like 'go 1.9 nogo 2.0'", text=text))
        return None
    named = {"goes": found.groupdict().get("goes"), "does_not_go": found.groupdict().get("stops")}
    texts = {key: value.strip() for key, value in named.items() if value}
    once = next((own for value in texts.values() if (own := _unit_of(value))), unit)
    return {key: _counted(value, once) for key, value in texts.items()}


def _unit_of(text: str) -> str:
    number = re.match(_NUMBER, text)
    return "" if number is None else text[number.end() :].strip()


def _counted(text: str, unit: str) -> str:
    """Return a quantity with its unit; beside thou a bare fraction is one of an inch: nothing shows 64ths of a thou."""
    text = text.strip()
    if not unit or not is_bare(text):
        return text
    return f"{text} {'in' if unit == 'thou' and '/' in text else unit}"
