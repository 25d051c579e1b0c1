"""What a heading says: its words in one vocabulary, its unit, and what a column of many is of."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.interchange.values import as_text, day, plain
from sparkout.units import unit_called

if TYPE_CHECKING:
    import datetime

    from sparkout.interchange.source import Cell

_ONE_VOCABULARY = (
    (r"\b(bottom blades?|bed ?kni(?:fe|ves)|bed ?plates?|untermesser)\b", "knife"),
    (r"\b(cylinders?|spindel)\b", "reel"),
    (r"\b(centre|center|middle|mid|mitte)\b", "centre"),
    (r"\b(run out|rundlauf)\b", "runout"),
    (r"\b(hoc|bench height|schnitthoehe)\b", "height of cut"),
    (r"\b(dia|diam|durchmesser|o ?d)\b", "diameter"),
    (r"\b(fase|fasenbreite|stegbreite|land width)\b", "land"),
    (r"\b(no|nr|number|num)\b", "no"),
)
_MEASURED = (
    "length",
    "time",
    "angle",
    "speed",
    "rotation",
    "mass",
    "force",
    "temperature",
    "energy per volume",
    "area",
)
_IN_BRACKETS = re.compile(r"[(\[]([^)\]]{1,12})[)\]]\s*$")
_AT_END = re.compile(r"[,;/\s]\s*(?:in\s+)?([^\s,;/]{1,12})\s*$")

PLACES = {
    "left": "left", "l": "left", "lh": "left", "links": "left", "left end": "left", "li": "left",
    "centre": "centre", "c": "centre", "m": "centre", "ctr": "centre",
    "right": "right", "r": "right", "rh": "right", "rechts": "right", "right end": "right", "re": "right",
    "left quarter": "left quarter", "quarter left": "left quarter", "right quarter": "right quarter",
    "quarter right": "right quarter",
}  # fmt: skip
WHENS = {
    "as found": "as found", "found": "as found", "before": "as found", "before grinding": "as found", "in": "as found",
    "vorher": "as found", "arrival": "as found", "before grind": "as found", "incoming": "as found",
    "as left": "as left", "after": "as left", "after grinding": "as left", "out": "as left", "nachher": "as left",
    "after grind": "as left", "outgoing": "as left", "set": "as left",
}  # fmt: skip
QUANTITY_WORDS = {
    "diameter": "diameter", "reel diameter": "diameter", "reel size": "diameter", "land": "land", "runout": "run-out",
    "rest gap": "rest gap", "feeler": "rest gap", "gap": "gap", "spalt": "gap", "light gap": "gap", "clearance": "gap",
    "height of cut": "height of cut", "lip height": "lip height", "lip": "lip height",
    "front lip depth": "front lip depth", "top angle": "top angle", "front angle": "front angle",
    "end play": "end play", "endplay": "end play", "axialspiel": "end play", "radial play": "radial play",
    "radialspiel": "radial play", "drag": "drag", "shaft": "shaft", "frame": "frame",
    "knife straightness": "knife straightness", "straightness": "knife straightness", "nick": "nick depth",
    "nick depth": "nick depth", "roller diameter": "roller diameter", "adjuster count": "adjuster count",
    "wear land": "wear land", "edge rounding": "edge rounding",
}  # fmt: skip
_BLADE = re.compile(r"\b(?:blade|messer|b) ?(?:no )?(\d{1,2})\b")


@cache
def told(heading: str) -> tuple[str, str]:
    """Return a heading's words in one vocabulary, and the unit it names.

    Examples
    --------
    >>> told("Cylinder dia. (mm)"), told("HOC, in"), told("Schnitthöhe [mm]")
    (('reel diameter', 'mm'), ('height of cut', 'in'), ('height of cut', 'mm'))
    """
    unit, text = "", heading.strip()
    for form in (_IN_BRACKETS, _AT_END):
        match = form.search(text)
        if match and (unit := unit_named(match[1])):
            text = text[: match.start()]
            break
    else:
        unit = unit_called(text, "area") or ""  # "Acres" says what it is and in what
    words = plain(text)
    for pattern, one in _ONE_VOCABULARY:
        words = re.sub(pattern, one, words)
    return " ".join(words.split()), unit


@cache
def unit_named(text: str) -> str:
    """Return the usual name of a unit, or nothing when the text is none.

    Examples
    --------
    >>> unit_named('"'), unit_named("Zoll"), unit_named("rpm"), unit_named("left")
    ('in', 'in', '1/min', '')
    """
    tidy = text.strip().rstrip(".")
    if tidy.lower() in ("m", "c", "k", "d", "f", "'", "''") and tidy != "m":
        return ""
    for kind in _MEASURED:
        if (name := unit_called(tidy, kind)) is not None:
            return name
    return ""


def spread_of(heading: str, quantity_known: bool) -> dict[str, str] | None:
    """Return what a column of readings is of, when its heading says nothing else: quantity, place, blade, when.

    Examples
    --------
    >>> spread_of("Diameter left (mm)", False), spread_of("B3 R", True)
    ({'of': 'diameter', 'at': 'left'}, {'blade': '3', 'at': 'right'})
    >>> spread_of("Diameter as left", False), spread_of("Comment", True) is None
    ({'of': 'diameter', 'when': 'as left'}, True)
    """
    words, _ = told(heading)
    found: dict[str, str] = {}
    blade = _BLADE.search(words)
    if blade:
        found["blade"] = str(int(blade[1]))
        words = " ".join((words[: blade.start()] + " " + words[blade.end() :]).split())
    for key, known in (
        ("of", QUANTITY_WORDS),
        ("when", WHENS),
        ("at", PLACES),
        ("which", {"front": "front", "rear": "rear"}),
    ):
        match = _longest(words, known)
        if match:
            found[key] = known[match]
            words = " ".join(re.sub(rf"\b{re.escape(match)}\b", " ", words, count=1).split())
    left_over = set(words.split()) - {"reel", "end", "at", "side", "knife", "grind", "grinding", "mean", "of", "no"}
    if left_over or not found or ("of" not in found and not quantity_known):
        return None
    return found


def _longest(words: str, known: dict[str, str]) -> str:
    fits = [name for name in known if re.search(rf"\b{re.escape(name)}\b", words)]
    return max(fits, key=len, default="")


def day_in(heading: Cell, order: str) -> datetime.date | None:
    """Return the day a heading stands for, when it is one."""
    try:
        return day(heading, order) if as_text(heading) else None
    except Refusal:
        return None
