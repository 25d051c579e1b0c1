"""Units: every factor against the pint library (a reference library), and what people type."""

import contextlib
import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sparkout.units import KINDS, UnitProblem, could_be, from_core, parse, split, to_core

REGISTRY = pint.UnitRegistry()
REGISTRY.define("acre_by_the_yard = 4840 * yard ** 2")  # the library's own acre still counts in survey feet
CORE = {
    "length": "mm", "speed": "mm/s", "rotation": "rad/s", "angle": "rad", "time": "s", "temperature": "K",
    "temperature difference": "K", "expansion": "1/K", "force": "N", "torque": "N*mm", "mass": "kg",
    "power": "N*mm/s",
    "energy per volume": "N/mm^2", "removal rate": "mm^3/s", "specific removal rate": "mm^2/s", "volume": "mm^3",
    "area": "mm^2",
    "unbalance": "kg*mm", "per length": "1/mm",
    "flow": "mm^3/s", "frequency": "Hz", "stiffness": "N/mm", "growth": "mm/s",
    "inertia": "kg*mm^2", "acceleration": "mm/s^2", "sound level": "", "money": "",
    "fraction": "", "number": "", "count": "",
}  # fmt: skip
PINT_NAMES = {
    "in": "inch", "°C": "degC", "°F": "degF", "1/min": "revolution/minute", "1/s": "revolution/second", "N m": "N*m",
    "N mm": "N*mm", "lbf in": "lbf*inch", "lbf ft": "lbf*ft", "hp": "horsepower", "J/mm³": "J/mm^3",
    "N/mm²": "N/mm^2",
    "mm³/s": "mm^3/s", "mm³/min": "mm^3/min", "in³/min": "inch^3/minute", "mm²/s": "mm^2/s",
    "in²/min": "inch^2/minute",
    "mm²": "mm^2", "m²": "m^2", "ft²": "ft^2", "yd²": "yd^2", "ha": "hectare",
    "acre": "acre_by_the_yard",
    "mm³": "mm^3", "cm³": "cm^3", "in³": "inch^3", "g mm": "g*mm", "kg mm": "kg*mm", "oz in": "oz*inch",
    "1/in": "1/inch",
    "1/°F": "1/delta_degF", "µm/m/K": "µm/m/K", "gf": "gram*standard_gravity", "kgf": "kgf",
    "in/min": "inch/minute", "in/s": "inch/second",
    "%": "percent", "thou": "thou", "cm³/min": "cm^3/min", "US gal/min": "gallon/minute", "lbf/in": "lbf/inch",
    "in/day": "inch/day", "in/week": "inch/week", "kHz": "kHz",
    "kg mm²": "kg*mm^2", "kg m²": "kg*m^2", "lb in²": "lb*inch^2", "m/s²": "m/s^2", "mm/s²": "mm/s^2",
    "ft/s²": "ft/s^2", "dB(A)": "",
}  # fmt: skip


@pytest.mark.parametrize(("kind", "unit"), [(kind, unit) for kind, entry in KINDS.items() for unit in entry.units])
def test_factor_agrees_with_reference_library(kind: str, unit: str) -> None:
    name = PINT_NAMES.get(unit, unit)
    if kind == "temperature difference" and unit != "K":
        name = "delta_" + name
    theirs = REGISTRY.Quantity(7.5, name or "dimensionless").to(CORE[kind] or "dimensionless").magnitude
    assert to_core(7.5, kind, unit) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "default", "wanted"),
    [
        ("2 thou", "length", "mm", 0.0508),
        (".05", "length", "mm", 0.05),
        ("127.4", "length", "mm", 127.4),
        ("0,05 mm", "length", "in", 0.05),
        ('5"', "length", "mm", 127.0),
        ("5 1/2 in", "length", "mm", 139.7),
        ("1/8in", "length", "mm", 3.175),
        ("-0.02", "length", "mm", -0.02),
        ("−3 µm", "length", "mm", -0.003),
        ("5", "length", "in", 127.0),
        ("11 h", "time", "h", 39600.0),
        ("18 °C", "temperature", "°C", 291.15),
        ("50 F", "temperature", "°C", 283.15),
        ("1500 rpm", "rotation", "1/min", 50 * math.pi),
        ("0,5 Zoll", "length", "mm", 12.7),
        ("800 U/min", "rotation", "1/min", 800 * math.pi / 30),
        ("1240 Std.", "time", "h", 1240 * 3600.0),
        ("30 Grad", "angle", "deg", math.pi / 6),
        ("1500 1/min", "rotation", "1/min", 50 * math.pi),
        ("12 %", "fraction", "", 0.12),
        ("1e-3 m", "length", "mm", 1.0),
        (127, "length", "mm", 127.0),
    ],
)
def test_what_people_type(text: str | float, kind: str, default: str, wanted: float) -> None:
    assert parse(text, kind, default) == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("two thou", "length", "not a number with a unit"),
        ("", "length", "not a number with a unit"),
        ("1,200 mm", "length", "'1200' or as '1.200'"),
        ("3/0 in", "length", "divides by zero"),
        ("11 h", "length", "unit of time"),
        ("4 furlongs", "length", "not a unit known here"),
        (float("nan"), "length", "not a finite number"),
        (float("inf"), "length", "not a finite number"),
        ("1e999 mm", "length", "not a finite number"),
        (True, "length", "is not a length"),
        (None, "length", "is not a length"),
    ],
)
def test_refusals_say_what_is_wrong(text: str, kind: str, says: str) -> None:
    with pytest.raises(UnitProblem, match=says):
        parse(text, kind)


@given(st.floats(-1e6, 1e6), st.sampled_from([(k, u) for k, entry in KINDS.items() for u in entry.units]))
def test_there_and_back(number: float, place: tuple[str, str]) -> None:
    kind, unit = place
    assert from_core(to_core(number, kind, unit), kind, unit) == pytest.approx(number, rel=1e-9, abs=1e-6)


@given(st.text(max_size=20), st.sampled_from(sorted(KINDS)))
def test_any_text_is_a_quantity_or_a_refusal(text: str, kind: str) -> None:
    with contextlib.suppress(UnitProblem):
        assert math.isfinite(parse(text, kind))


def test_a_bare_five_for_a_reel_was_perhaps_inches() -> None:
    assert could_be(5, "length", 50, 400) == ["cm", "in"]


def test_split_keeps_the_unit_as_typed() -> None:
    assert split("2  Thou") == (2.0, "Thou")
