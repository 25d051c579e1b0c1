"""Action and limit values by region, as data with their sources."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

CHECK = "Check local rules: these are figures as found, not advice on the law."


@dataclass(frozen=True, slots=True)
class ExposureValue:
    """A value at which something must be done: where, of what, how much over what time, its source, how it was seen."""

    region: str
    of: str
    name: str
    value: float
    unit: str
    over: str
    source: str
    seen: str


@cache
def exposure_values() -> tuple[ExposureValue, ...]:
    """Return every value on file.

    Examples
    --------
    >>> [(v.name, v.value) for v in exposure_values() if v.of == "hand-arm vibration"]
    [('action value', 2.5), ('limit value', 5.0)]
    """
    text = files("sparkout.core").joinpath("data/exposure.toml").read_text(encoding="utf-8")
    return tuple(ExposureValue(**row) for row in tomllib.loads(text)["value"])


def reached_values(of: str, exposure: float) -> tuple[ExposureValue, ...]:
    """Return the values of this kind that an exposure reaches, the highest first.

    Examples
    --------
    >>> [v.name for v in reached_values("hand-arm vibration", 2.6)]
    ['action value']
    """
    found = [one for one in exposure_values() if one.of == of and exposure >= one.value]
    return tuple(sorted(found, key=lambda one: -one.value))
