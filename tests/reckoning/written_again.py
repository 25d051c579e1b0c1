"""The same visit written otherwise: in other units, or as seen by somebody standing in front of the machine."""

from __future__ import annotations

import random
import re
from fractions import Fraction
from typing import Any

from tests.reckoning.partial import Data

EXACT = {
    "in": Fraction(254, 10),
    "thou": Fraction(254, 10_000),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "ft": 12 * Fraction(254, 10),
}
"""Millimetres in one unit, by definition."""
_LENGTH = re.compile(r"(-?\d+(?:\.\d+)?) ?(mm|in|thou)")


def _written(number: Fraction, unit: str) -> str:
    """A number written out to twenty digits: far beyond what a float holds, so nothing is rounded in the writing."""
    sign, number = ("-", -number) if number < 0 else ("", number)
    scaled = round(number * 10**25)
    return f"{sign}{scaled // 10**25}.{scaled % 10**25:025d} {unit}"


def in_other_units(data: Any, units: random.Random) -> Any:
    """Return the tables with every length typed anew, each in a unit drawn for it."""
    if isinstance(data, dict):
        if "unit" in data and "values" in data:  # a sweep: bare numbers counting in its unit
            unit, own = units.choice(["in", "thou", "cm"]), _millimetres(data["unit"])
            rows = [[_written(Fraction(str(v)) * own / EXACT[unit], unit) for v in row] for row in data["values"]]
            return {**{k: in_other_units(v, units) for k, v in data.items()}, "unit": "mm", "values": rows}
        return {key: in_other_units(value, units) for key, value in data.items()}
    if isinstance(data, list):
        return [in_other_units(value, units) for value in data]
    match = _LENGTH.fullmatch(data) if isinstance(data, str) else None
    if match is None:
        return data
    unit = units.choice(list(EXACT))
    return _written(Fraction(match[1]) * _millimetres(match[2]) / EXACT[unit], unit)


def _millimetres(unit: str) -> Fraction:
    return Fraction(1) if unit == "mm" else EXACT[unit]


_OTHER_SIDE = {"left": "right", "right": "left", "left quarter": "right quarter", "right quarter": "left quarter"}
_MIRRORED_WORDS = re.compile(r"\b(left|right)\b")


def from_the_front(data: Data) -> Data:
    """Return the visit with x counted from the other end: stations x -> L - x, helix turned, paper rows turned.

    Where the shaft was read is counted from the marked blade's edge at that station, so it stays.
    """
    length = _number(data["reel"]["length"])
    mirrored = dict(data)
    mirrored["reel"] = {**data["reel"], "helix": f"{-_number(data['reel']['helix'])!r} deg"}
    mirrored["readings"] = [{**r, "at": _across(r["at"], length)} if "at" in r else r for r in data["readings"]]
    mirrored["sweeps"] = [
        {**sweep, "at": [_across(at, length) for at in sweep["at"]]} for sweep in data.get("sweeps", [])
    ]
    mirrored["paper"] = [
        {
            **proof,
            "rows": [row[::-1] for row in proof["rows"]],
            "stations": [_across(at, length) for at in proof["stations"][::-1]],
        }
        for proof in data.get("paper", [])
    ]
    return mirrored


def _across(at: str, length: float) -> str:
    return _OTHER_SIDE.get(at) or ("centre" if at == "centre" else f"{length - _number(at)!r} mm")


def _number(text: str) -> float:
    """A length in mm or an angle in degrees, as these files write them."""
    number, unit = text.split(" ")
    return float(number) * {"mm": 1.0, "deg": 1.0, "in": 25.4}[unit]


def swapped_words(text: str) -> str:
    """Return a text with left and right exchanged."""
    return _MIRRORED_WORDS.sub(lambda match: _OTHER_SIDE[match[0]], text)
