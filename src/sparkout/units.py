"""Text with a unit to a number in core units, and back.

Core units: mm, s, rad, K, N and what follows from them (speed mm/s, rotation rad/s, torque N mm, power
N mm/s, energy per volume N/mm²); mass is the one exception, in kg. Every factor here is exact by
definition (1 in = 25.4 mm, 1 lb = 0.45359237 kg, standard gravity 9.80665 m/s²); tests/core/test_units.py compares
all of them with a reference library.

No units library is used: the usual one takes most of a second to import (docs/decisions/0003-dependencies.md).
"""

from __future__ import annotations

import math
import re
from typing import Literal, NamedTuple

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase

System = Literal["mm", "inch"]
"""Unit systems a person can be told in."""
_IN = 25.4
_FT = 12 * _IN
_MILE = 5280 * _FT
_LB = 0.45359237
_G = 9.80665
_TURN = 2 * math.pi


class Kind(NamedTuple):
    """A kind of quantity: its name in words, what the faces use by default, and its units.

    Each unit is a factor to core units, or (factor, offset) where zero is not at zero.
    """

    words: str
    """With its article: 'a length'."""
    metric: str
    imperial: str
    units: dict[str, float | tuple[float, float]]

    @property
    def name(self) -> str:
        """Without its article."""
        return self.words.split(" ", 1)[1]


KINDS: dict[str, Kind] = {
    "length": Kind(
        "a length",
        "mm",
        "in",
        {
            "mm": 1.0,
            "cm": 10.0,
            "m": 1e3,
            "km": 1e6,
            "µm": 1e-3,
            "in": _IN,
            "thou": _IN / 1000,
            "ft": _FT,
            "yd": 3 * _FT,
            "mile": _MILE,
        },
    ),
    "speed": Kind(
        "a speed",
        "km/h",
        "mph",
        {
            "mm/s": 1.0,
            "mm/min": 1 / 60,
            "m/s": 1e3,
            "m/min": 1e3 / 60,
            "km/h": 1e6 / 3600,
            "mph": _MILE / 3600,
            "ft/min": _FT / 60,
            "ft/s": _FT,
            "in/min": _IN / 60,
            "in/s": _IN,
        },
    ),
    "rotation": Kind(
        phrase("a speed of rotation"),
        "1/min",
        "1/min",
        {"1/min": _TURN / 60, "1/s": _TURN, "rad/s": 1.0},
    ),
    "angle": Kind("an angle", "deg", "deg", {"deg": math.pi / 180, "rad": 1.0, "arcmin": math.pi / 10800}),
    "time": Kind("a time", "h", "h", {"s": 1.0, "min": 60.0, "h": 3600.0, "day": 86400.0}),
    "temperature": Kind(
        "a temperature",
        "°C",
        "°F",
        {"°C": (1.0, 273.15), "°F": (5 / 9, 459.67 * 5 / 9), "K": 1.0},
    ),
    "temperature difference": Kind("a temperature difference", "K", "°F", {"K": 1.0, "°C": 1.0, "°F": 5 / 9}),
    "expansion": Kind(phrase("a coefficient of expansion"), "1/K", "1/°F", {"1/K": 1.0, "µm/m/K": 1e-6, "1/°F": 9 / 5}),
    "force": Kind("a force", "N", "lbf", {"N": 1.0, "kN": 1e3, "kgf": _G, "gf": _G / 1e3, "lbf": _LB * _G}),
    "torque": Kind(
        "a torque",
        "N m",
        "lbf in",
        {"N mm": 1.0, "N m": 1e3, "lbf in": _LB * _G * _IN, "lbf ft": _LB * _G * _FT},
    ),
    "mass": Kind("a mass", "kg", "lb", {"kg": 1.0, "g": 1e-3, "lb": _LB, "oz": _LB / 16}),
    "power": Kind("a power", "W", "hp", {"W": 1e3, "kW": 1e6, "hp": 550 * _LB * _G * _FT}),
    "energy per volume": Kind(phrase("an energy per volume"), "J/mm³", "J/mm³", {"J/mm³": 1e3, "N/mm²": 1.0}),
    "removal rate": Kind(
        "a removal rate", "mm³/s", "in³/min", {"mm³/s": 1.0, "mm³/min": 1 / 60, "in³/min": _IN**3 / 60}
    ),
    "specific removal rate": Kind(
        phrase("a removal rate per width"), "mm²/s", "in²/min", {"mm²/s": 1.0, "in²/min": _IN**2 / 60}
    ),
    "area": Kind(
        phrase("an area"),
        "ha",
        "acre",
        {"mm²": 1.0, "m²": 1e6, "ha": 1e10, "ft²": _FT**2, "yd²": (3 * _FT) ** 2, "acre": 43_560 * _FT**2},
    ),
    "volume": Kind("a volume", "mm³", "in³", {"mm³": 1.0, "cm³": 1e3, "in³": _IN**3}),
    "unbalance": Kind("an unbalance", "g mm", "oz in", {"kg mm": 1.0, "g mm": 1e-3, "oz in": _LB / 16 * _IN}),
    "per length": Kind(
        phrase("a count per length"), "1/m", "1/ft", {"1/mm": 1.0, "1/m": 1e-3, "1/in": 1 / _IN, "1/ft": 1 / _FT}
    ),
    "flow": Kind(
        "a flow",
        "L/min",
        "US gal/min",
        {"L/min": 1e6 / 60, "cm³/min": 1e3 / 60, "in³/min": _IN**3 / 60, "US gal/min": 231 * _IN**3 / 60},
    ),
    "frequency": Kind("a frequency", "Hz", "Hz", {"Hz": 1.0, "kHz": 1e3}),
    "stiffness": Kind("a stiffness", "N/mm", "lbf/in", {"N/mm": 1.0, "lbf/in": _LB * _G / _IN}),
    "growth": Kind(
        phrase("a speed of growth"),
        "mm/day",
        "in/week",
        {"mm/day": 1 / 86400, "mm/week": 1 / 604800, "in/day": _IN / 86400, "in/week": _IN / 604800},
    ),
    "inertia": Kind("a moment of inertia", "kg mm²", "lb in²", {"kg mm²": 1.0, "kg m²": 1e6, "lb in²": _LB * _IN**2}),
    "acceleration": Kind("an acceleration", "m/s²", "m/s²", {"m/s²": 1e3, "mm/s²": 1.0, "ft/s²": _FT}),
    "sound level": Kind("a sound level", "dB(A)", "dB(A)", {"dB(A)": 1.0}),
    "money": Kind("an amount of money", "", "", {"": 1.0}),
    "fraction": Kind("a share", "", "", {"": 1.0, "%": 0.01}),
    "number": Kind("a plain number", "", "", {"": 1.0}),
    "count": Kind("a whole number", "", "", {"": 1.0}),
}

GERMAN = {
    "zoll": "in", "grad": "deg", "u/min": "1/min", "upm": "1/min", "std": "h", "std.": "h", "stunden": "h",
    "betriebsstunden": "h", "bh": "h", "tage": "day", "tsd": "thou", "kp": "kgf",
}  # fmt: skip
"""Units as they are written in German, in small letters."""
_ALIASES = GERMAN | {
    '"': "in", "''": "in", "″": "in", "inch": "in", "inches": "in", "ins": "in", "'": "ft", "feet": "ft", "foot": "ft",
    "um": "µm", "μm": "µm", "micron": "µm", "microns": "µm", "thousandth": "thou", "thousandths": "thou",
    "th": "thou",
    "metre": "m", "metres": "m", "meter": "m", "meters": "m", "millimetre": "mm", "millimetres": "mm",
    "millimeter": "mm", "millimeters": "mm", "kph": "km/h", "kmh": "km/h", "fpm": "ft/min",
    "rpm": "1/min", "rev/min": "1/min", "r/min": "1/min", "min-1": "1/min", "/min": "1/min", "rps": "1/s",
    "rev/s": "1/s",
    "°": "deg", "degree": "deg", "degrees": "deg", "sec": "s", "seconds": "s", "mins": "min", "minutes": "min",
    "hr": "h", "hrs": "h", "hour": "h", "hours": "h", "d": "day", "days": "day",
    "c": "°C", "degc": "°C", "ºc": "°C", "f": "°F", "degf": "°F", "ºf": "°F", "k": "K",
    "per k": "1/K", "/k": "1/K", "ppm/k": "µm/m/K", "1/f": "1/°F", "1/degf": "1/°F",
    "lb in": "lbf in", "in lbf": "lbf in", "in lb": "lbf in", "lb ft": "lbf ft", "ft lbf": "lbf ft",
    "ft lb": "lbf ft",
    "nm": "N m", "nmm": "N mm", "n.m": "N m", "kilogram": "kg", "kilograms": "kg", "lbs": "lb", "gmm": "g mm",
    "g.mm": "g mm",
    "g·mm": "g mm", "kgmm": "kg mm", "j/mm3": "J/mm³", "j/mm^3": "J/mm³", "n/mm2": "N/mm²", "mm3/s": "mm³/s",
    "mm^3/s": "mm³/s",
    "mm3/min": "mm³/min", "in3/min": "in³/min", "mm2/s": "mm²/s", "mm^2/s": "mm²/s", "in2/min": "in²/min",
    "mm3": "mm³", "mm2": "mm²", "m2": "m²", "m^2": "m²", "sqm": "m²", "qm": "m²", "ft2": "ft²", "sq ft": "ft²",
    "yd2": "yd²", "sq yd": "yd²", "hectare": "ha", "hectares": "ha", "hektar": "ha", "acres": "acre", "ac": "acre",
    "cm3": "cm³", "in3": "in³", "cuts/m": "1/m", "/m": "1/m", "/mm": "1/mm", "/in": "1/in", "percent": "%",
    "horsepower": "hp", "l/min": "L/min", "lpm": "L/min", "gpm": "US gal/min", "gal/min": "US gal/min",
    "cm3/min": "cm³/min", "hz": "Hz", "khz": "kHz", "m/s2": "m/s²", "m/s^2": "m/s²", "mm/s2": "mm/s²", "ft/s2": "ft/s²",
    "kg mm2": "kg mm²", "kgmm²": "kg mm²", "kgmm2": "kg mm²", "kg m2": "kg m²", "kgm²": "kg m²", "kgm2": "kg m²",
    "lb in2": "lb in²", "db": "dB(A)", "dba": "dB(A)", "db(a)": "dB(A)",
}  # fmt: skip

_QUANTITY = re.compile(
    r"""^\s*(?P<sign>[+\-−]?)\s*
    (?:(?:(?P<whole>\d+)[\s\-]+)?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)|(?P<number>(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+\-−]?\d+)?))
    \s*(?P<unit>\D.*|)$""",
    re.VERBOSE,
)


class UnitProblem(Refusal):
    """The text is not a quantity of the kind wanted."""


def _tidy(unit: str, kind: str | None = None) -> str | None:
    """Return the table's name of a unit as typed, or None when there is no such unit."""
    name = " ".join(unit.split())
    tables = [KINDS[kind].units] if kind else [entry.units for entry in KINDS.values()]
    for candidate in (name, _ALIASES.get(name), _ALIASES.get(name.lower()), name.lower()):
        if candidate is not None and any(candidate in table for table in tables):
            return candidate
    return None


def unit_called(text: str, kind: str | None = None) -> str | None:
    """Return the usual name of a unit as typed, of one kind or of any; None when there is no such unit.

    Examples
    --------
    >>> unit_called("inches"), unit_called("rpm", "rotation"), unit_called("left")
    ('in', '1/min', None)
    """
    return _tidy(text, kind)


def _affine(kind: str, unit: str) -> tuple[float, float]:
    name = unit if unit in KINDS[kind].units else _tidy(unit, kind)
    if name is None:
        raise UnitProblem(phrase("{unit!r} is not a unit of {kind}", unit=AsTyped(unit), kind=KINDS[kind].name))
    entry = KINDS[kind].units[name]
    return entry if isinstance(entry, tuple) else (entry, 0.0)


def _number(text: str, whole: str) -> float:
    """Return the number written, decimal point or comma; '1,200' could be either and is asked back."""
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", text):
        raise UnitProblem(
            phrase(
                "{whole!r} can be read as {thousands!r} or as {decimal!r}; write one of these",
                whole=whole,
                thousands=AsTyped(text.replace(",", "")),
                decimal=AsTyped(text.replace(",", ".")),
            )
        )
    return float(text.replace(",", ".").replace("−", "-"))


def split(text: str) -> tuple[float, str]:
    """Return number and unit text of a quantity as typed ('5 1/2 in' -> 5.5, 'in').

    Raises
    ------
    UnitProblem
        When there is no number to read, or it can be read in two ways.

    Examples
    --------
    >>> split("2 thou"), split(".05"), split("5 1/2 in"), split("0,05 mm")
    ((2.0, 'thou'), (0.05, ''), (5.5, 'in'), (0.05, 'mm'))
    """
    match = _QUANTITY.match(text)
    if match is None:
        raise UnitProblem(
            phrase("{text!r} is not a number with a unit, like '2 thou', '0.05 mm' or '127'", text=AsTyped(text))
        )
    if match["top"] is not None:
        if int(match["bottom"]) == 0:
            raise UnitProblem(phrase("{text!r} divides by zero", text=AsTyped(text)))
        number = int(match["whole"] or 0) + int(match["top"]) / int(match["bottom"])
    else:
        number = _number(match["number"], text)
    return (-number if match["sign"] in ("-", "−") else number), match["unit"].strip()


def is_bare(text: str) -> bool:
    """Tell whether a quantity as typed is a number without a unit.

    Examples
    --------
    >>> is_bare("-0.04"), is_bare("− 1/64"), is_bare("5e-2"), is_bare("1,200"), is_bare("2 thou"), is_bare("left")
    (True, True, True, True, False, False)
    """
    match = _QUANTITY.match(text)
    return match is not None and not match["unit"].strip()


def parse(text: str | float, kind: str, default_unit: str = "") -> float:
    """Return a quantity of `kind` in core units; a bare number counts in `default_unit`.

    Raises
    ------
    UnitProblem
        When the text is no number, the unit is unknown, belongs to another kind, or the number is not finite.

    Examples
    --------
    >>> round(parse("2 thou", "length", "mm"), 6), parse(127, "length", "mm"), round(parse("2.8 mph", "speed"), 3)
    (0.0508, 127.0, 1251.712)
    """
    if isinstance(text, bool) or not isinstance(text, str | float | int):
        raise UnitProblem(phrase("{text!r} is not {kind}", text=AsTyped(text), kind=KINDS[kind].words))
    number, typed = split(text) if isinstance(text, str) else (float(text), "")
    if not math.isfinite(number):
        raise UnitProblem(phrase("{text!r} is not a finite number", text=AsTyped(text)))
    unit = _tidy(typed, kind) if typed else (default_unit or KINDS[kind].metric)
    if unit is None:
        other = next((entry.name for entry in KINDS.values() if _tidy(typed, None) in entry.units), None)
        known = ", ".join(name or "no unit" for name in KINDS[kind].units)
        found = (
            phrase("{typed!r} is a unit of {kind}", typed=AsTyped(typed), kind=other)
            if other
            else phrase("{typed!r} is not a unit known here", typed=AsTyped(typed))
        )
        raise UnitProblem(
            phrase(
                "{text!r}: {found}; wanted {kind} in one of: {known}",
                text=AsTyped(text),
                found=found,
                kind=KINDS[kind].words,
                known=known,
            )
        )
    return to_core(number, kind, unit)


def to_core(number: float, kind: str, unit: str) -> float:
    """Return a number of `unit` in core units."""
    factor, offset = _affine(kind, unit)
    return number * factor + offset


def from_core(value: float, kind: str, unit: str) -> float:
    """Return a core value as a number of `unit`.

    Examples
    --------
    >>> round(from_core(0.0508, "length", "thou"), 9)
    2.0
    """
    factor, offset = _affine(kind, unit)
    return (value - offset) / factor


def could_be(number: float, kind: str, low: float, high: float) -> list[str]:
    """Return the units in which a bare number would lie in [low, high] (core units): what was perhaps meant."""
    return [unit for unit in KINDS[kind].units if low <= to_core(number, kind, unit) <= high]
