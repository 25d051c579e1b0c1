"""Numbers and trade words to text: digits from the uncertainty, unit system, vocabulary. The only place that rounds."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Literal

from sparkout.core.measured import Measured, coverage_factor
from sparkout.core.phrase import AsTyped, phrase, typed_within
from sparkout.glossary import TERMS
from sparkout.translation import translated
from sparkout.units import KINDS, System, from_core, to_core

Vocabulary = Literal["uk", "us"]

THOU_BELOW = 2.54
"""Lengths under a tenth of an inch are told in thou, as the trade tells them."""

# Decimal places when no uncertainty says better: about a tenth of what the job can see.
_PLACES = {
    "mm": 3, "in": 4, "thou": 1, "cm³": 2, "in³": 3, "deg": 1, "°C": 1, "°F": 1, "K": 1, "kg": 2, "lb": 2,
    "mm/s": 0, "in/s": 1, "m/s": 1, "ft/min": 0, "km/h": 1, "mph": 1, "1/min": 0, "h": 0, "min": 0, "s": 1,
    "kg mm²": 0, "lb in²": 2, "m/s²": 2, "dB(A)": 1,
    "W": 0, "hp": 2, "mm³/s": 1, "in³/min": 2, "mm²/s": 2, "in²/min": 3,
}  # fmt: skip


@cache
def _terms() -> tuple[re.Pattern[str], dict[str, str]]:
    table = {term.us: term.uk for term in TERMS if term.us != term.uk}
    table |= {"bedknives": "bottom blades", "knife": "bottom blade", "knives": "bottom blades", "centers": "centres"}
    table |= {f"{us}s": f"{uk}s" for us, uk in table.items() if us in ("reel", "bed bar", "wrench")}
    longest_first = sorted(table, key=len, reverse=True)
    return re.compile(r"\b(" + "|".join(map(re.escape, longest_first)) + r")\b", re.IGNORECASE), table


_LENGTH_IN_TEXT = re.compile(
    r"(?<![\w.,])([-−]?\d+(?:\.\d+)?)(?:( ± | to | and | bis | und )([-−]?\d+(?:\.\d+)?))? mm\b(?![²³/])"
)
"""A length or a pair of them, in the code's words or in those of a language told here; what follows a comma is the rest
of a number somebody typed."""
_SPEED_IN_TEXT = re.compile(r"(?<![\w.,])(\d+(?:\.\d+)?) mm/s\b")
_NUMBER_IN_TEXT = re.compile(r"(?<![\w.])(?<!CFR )(\d+)\.(\d+)(?![\w(]|\.\d)")
"""A decimal number; a paragraph of a regulation (29 CFR 1910.215) is none."""
_ALONG = (" from the left", " von links")


_UNSEEN = 0.5e-6
"""An uncertainty of which six decimals, the most there are, show nothing."""


def _places(step: float) -> int:
    """Decimal places that show `step` with two significant digits."""
    return 2 if step <= 0 else max(0, min(6, 1 - math.floor(math.log10(step))))


def _inwards(number: float, up: bool) -> float:
    """Return a number with three figures, not smaller (`up`) or not larger than it was."""
    if number == 0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(abs(number))) - 2)
    return step * (math.ceil(number / step - 1e-9) if up else math.floor(number / step + 1e-9))


@dataclass(frozen=True, slots=True)
class Showing:
    """How one person wants to be told: unit system, trade vocabulary, decimal mark, language."""

    system: System = "mm"
    vocabulary: Vocabulary = "uk"
    decimal: Literal[".", ","] = "."
    kept: tuple[str, ...] = ()
    """Texts of the user's own (names of gauges, origins of limits) that are left as they are wherever they stand."""
    language: str = "en"
    """One of `sparkout.translation.LANGUAGES`; the two trade vocabularies are English ones."""

    def say(self, text: str) -> str:
        """Return text written in the code's words (US trade words, mm) in this vocabulary and unit system.

        Examples
        --------
        >>> Showing(vocabulary="uk").say("Bedknife on reel"), Showing(vocabulary="us").say("Bedknife on reel")
        ('Bottom blade on cylinder', 'Bedknife on reel')
        >>> Showing("inch", "us").say("set a gap of 0.0508 mm")
        'set a gap of 2.0 thou'
        >>> refused = phrase("{given} is too small; allowed: 25.4 to 50.8 mm", given=AsTyped("'-3 mm'"))
        >>> Showing("inch", "us").say(refused)  # what the user typed stays as it was typed
        "'-3 mm' is too small; allowed: 1.000 to 2.000 in"
        """
        if isinstance(text, AsTyped):
            return text
        own = [typed for typed in typed_within(text) if self._said(typed) != typed]
        if self.language != "en":
            text = translated(text, self.language)
        if not self.kept and not own:
            return self._said(text)
        parts = re.split("(" + "|".join(map(re.escape, sorted({*self.kept, *own}, key=len, reverse=True))) + ")", text)
        return "".join(part if i % 2 else self._said(part) for i, part in enumerate(parts))

    def typed(self, text: str) -> AsTyped:
        """Return a text around something typed in the reader's language, its numbers and units left as typed."""
        return AsTyped(translated(text, self.language))

    def _told_as(self, text: str) -> str:
        """Return a text whose numbers are finished in this reader's language."""
        return str(translated(text, self.language))

    @lru_cache(8192)  # noqa: B019 - showings are few, equal ones are one key, and pages say the same again and again
    def _said(self, text: str) -> str:
        told = self._worded(_SPEED_IN_TEXT.sub(self._driven, _LENGTH_IN_TEXT.sub(self._told, text)))
        return told if self.decimal == "." else _NUMBER_IN_TEXT.sub(rf"\1{self.decimal}\2", told)

    def _driven(self, match: re.Match[str]) -> str:
        """Tell a speed of the grinder's table standing in a finished text."""
        if self.system == "mm":
            return match[0].replace(".", self.decimal)
        return self.quantity(float(match[1]), "speed", unit="in/s")

    def _told(self, match: re.Match[str]) -> str:
        """Tell a length (or a pair) standing in a finished text in this unit system and decimal mark.

        As finely as it was written: '37 mm' becomes '1.46 in', not '1.4567 in'.
        """
        if self.system == "mm":
            return match[0].replace(".", self.decimal)
        if match.string.startswith(_ALONG, match.end()):
            return self.place(float(match[1]))
        written = [part.replace("−", "-") for part in (match[1], match[3]) if part is not None]
        numbers = [float(part) for part in written]
        unit = self.unit("length", max(map(abs, numbers)))
        decimals = max(len(part.partition(".")[2]) for part in written)
        places = min(_PLACES[unit], max(0, math.ceil(decimals - math.log10(from_core(1.0, "length", unit)))))
        told = [self.figure(from_core(number, "length", unit), places) for number in numbers]
        return (match[2] or "").join(told) + f" {unit}"

    def _worded(self, text: str) -> str:
        if self.language != "en":
            return text
        if self.vocabulary == "us":
            text = re.sub(r"\b(?<!-)(kni(?:fe|ves))\b", r"bed\1", re.sub(r"\bKni(fe|ves)\b", r"Bedkni\1", text))
            return re.sub(r"\b([Cc]ol)our", r"\1or", re.sub(r"\b([Cc])entre", r"\1enter", text))
        pattern, table = _terms()

        def swap(match: re.Match[str]) -> str:
            word = match.group(0)
            other = table[word.lower()]
            return other[0].upper() + other[1:] if word[0].isupper() else other

        return pattern.sub(swap, text)

    def unit(self, kind: str, size: float = math.inf) -> str:
        """Return the unit in which a quantity of this size is told."""
        if kind == "length" and self.system == "inch":
            return "thou" if abs(size) < THOU_BELOW else "in"
        if kind == "time" and 0.0 < abs(size) < 100.0:
            return "s"
        entry = KINDS[kind]
        return entry.metric if self.system == "mm" else entry.imperial

    def figure(self, number: float, places: int) -> str:
        """Return a bare number with so many decimals; never '-0.00'."""
        text = f"{number:.{places}f}"
        if float(text) == 0:
            text = text.lstrip("-")
        return text.replace("-", "−").replace(".", self.decimal)

    def quantity(self, value: float, kind: str, *, unit: str | None = None, places: int | None = None) -> str:
        """Return a value in core units as text with its unit.

        Examples
        --------
        >>> Showing("mm").quantity(0.0508, "length"), Showing("inch").quantity(0.0508, "length")
        ('0.051 mm', '2.0 thou')
        """
        told = unit or self.unit(kind, value)
        number = from_core(value, kind, told)
        if places is None:
            places = _PLACES.get(told, 2)
            if told == "mm" and abs(number) >= 10:
                places = 2
        return f"{self.figure(number, places)} {told}".rstrip().replace(" deg", "°")

    def boxed(self, value: float, kind: str = "length") -> str:
        """Return a value as a person would type it in a box: this reader's unit, no finer than it is of use.

        Examples
        --------
        >>> Showing("mm").boxed(124.5858), Showing("inch").boxed(124.5858), Showing("inch").boxed(0.213108)
        ('124.586 mm', '4.905 in', '8.4 thou')
        >>> Showing("mm", decimal=",").boxed(124.5858)  # three figures after a comma could be thousands
        '124,5860 mm'
        """
        told = self.unit(kind, value)
        number = self.figure(from_core(value, kind, told), _PLACES.get(told, 3))
        whole, mark, part = number.partition(self.decimal)
        part = part.rstrip("0")
        part += "0" if mark == "," and len(part) == 3 else ""
        return f"{(whole + mark + part).rstrip(self.decimal)} {told}".rstrip()

    def length(self, value: float) -> str:
        """Return a length as text with its unit."""
        return self.quantity(value, "length")

    def residue(self, value: float) -> str:
        """Return a length that may be next to nothing: never a false '0.000 mm'.

        Examples
        --------
        >>> Showing("mm").residue(4e-8), Showing("inch").residue(0.0508)
        ('under 0.001 mm', '2.0 thou')
        """
        unit = self.unit("length", value)
        step = 10.0 ** -_PLACES[unit]
        if abs(from_core(value, "length", unit)) >= step:
            return self.length(value)
        return self._told_as(phrase("under {size}", size=f"{self.figure(step, _PLACES[unit])} {unit}"))

    def place(self, x: float) -> str:
        """Return a distance along the reel as text: whole mm, or tenths of an inch."""
        metric = self.system == "mm"
        return self.quantity(x, "length", unit="mm" if metric else "in", places=0 if metric else 1)

    def share(self, value: float, places: int = 0) -> str:
        """Return a share as per cent."""
        return f"{self.figure(100 * value, places)} %"

    def probability(self, value: float) -> str:
        """Return a probability as per cent, never a false 0 or 100."""
        if value < 0.001:
            return self._told_as(phrase("under {size}", size=self.share(0.001, 1)))
        if value > 0.999:
            return self._told_as(phrase("over {size}", size=self.share(0.999, 1)))
        return self.share(value, 0 if 0.02 <= value <= 0.98 else 1)

    def measured(
        self, quantity: Measured, kind: str = "length", coverage: float = 0.95, *, unit: str | None = None
    ) -> str:
        """Return a measured value with its expanded uncertainty, digits from the uncertainty.

        Examples
        --------
        >>> Showing("mm").measured(Measured(0.3127, 0.0312))
        '0.313 ± 0.061 mm'
        >>> Showing("mm").measured(Measured(3.5, 1e-17))  # what rounding left of no uncertainty at all
        '3.500 mm'
        """
        half = coverage_factor(coverage, quantity.dof) * quantity.u
        unit = unit or self.unit(kind, max(abs(quantity.value), half))
        scale = from_core(1.0, kind, unit) - from_core(0.0, kind, unit)
        if abs(half * scale) < _UNSEEN:  # none, or what rounding left of none
            return self.quantity(quantity.value, kind, unit=unit)
        places = _places(half * scale)
        value, spread = self.figure(from_core(quantity.value, kind, unit), places), self.figure(half * scale, places)
        return f"{value} ± {spread} {unit}".rstrip().replace(" deg", "°")

    def interval(self, low: float, high: float, kind: str = "length") -> str:
        """Return an interval as 'low to high unit', digits from its width."""
        unit = self.unit(kind, max(abs(low), abs(high)))
        scale = from_core(1.0, kind, unit) - from_core(0.0, kind, unit)
        places = _places((high - low) * scale)
        numbers = [self.figure(from_core(end, kind, unit), places) for end in (low, high)]
        both = self._told_as(phrase("{low} to {high}", low=numbers[0], high=numbers[1]))
        return f"{both} {unit}".rstrip().replace(" deg", "°")

    def bounds(self, low: float, high: float, kind: str, unit: str, told: str) -> str:
        """Return what is allowed, given in `unit`, in the unit `told`: in another one rounded inwards to three figures.

        Examples
        --------
        >>> Showing().bounds(0.001, 0.5, "length", "mm", "thou"), Showing().bounds(0.001, 0.5, "length", "mm", "mm")
        ('0.0394 to 19.6 thou', '0.001 to 0.5 mm')
        >>> Showing().bounds(0, 1e7, "number", "", "")
        '0 to 10000000'
        """
        ends = [low, high]
        if told != unit:
            bare = (from_core(to_core(end, kind, unit), kind, told) for end in ends)
            ends = [_inwards(number, up) for number, up in zip(bare, (True, False), strict=True)]
        numbers = [f"{end:.0f}" if abs(end) >= 1e6 else f"{end:g}" for end in ends]
        return self.say(phrase("{low} to {high}", low=numbers[0], high=numbers[1])) + f" {told}".rstrip()

    def duration(self, seconds: float) -> str:
        """Return a time as people at a bench say it: '45 s', '12 min', '1 h 05 min'."""
        if seconds < 90:
            return f"{self.figure(seconds, 0)} s"
        minutes = round(seconds / 60)
        return f"{minutes} min" if minutes < 90 else f"{minutes // 60} h {minutes % 60:02d} min"
