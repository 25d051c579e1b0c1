"""Names that carry their unit: beside "diameter": "5 in" as typed stands "diameter_mm": 127.0, its number.

Programs may send either; both at once must agree. So what was told can be sent back as it is.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import AsTyped, phrase
from sparkout.units import UnitProblem, from_core, parse, split
from sparkout.visit.asked import Asked, Cell, Depends, Quantity
from sparkout.visit.fields import declared, described
from sparkout.visit.problems import Problem, shown

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from sparkout.visit.sections import Section

Table = dict[str, Any]
_ENDINGS = {
    ("length", "mm"): "mm",
    ("angle", "deg"): "deg",
    ("time", "h"): "h",
    ("time", "s"): "s",
    ("temperature", "°C"): "celsius",
    ("force", "N"): "N",
    ("mass", "kg"): "kg",
    ("inertia", "kg mm²"): "kg_mm2",
    ("rotation", "1/min"): "per_min",
    ("speed", "mm/s"): "mm_per_s",
    ("speed", "m/s"): "m_per_s",
    ("speed", "km/h"): "km_per_h",
    ("energy per volume", "J/mm³"): "J_per_mm3",
    ("number", ""): "number",
    ("fraction", ""): "fraction",
}
"""How a name ends, by the kind of quantity and the unit in which a bare number counts."""
ENDINGS = tuple(dict.fromkeys(_ENDINGS.values()))


def counted_in(asked: Asked | None, table: Mapping[str, Any]) -> tuple[str, str] | None:
    """Return kind and unit in which a bare number of a field counts; None when it is no quantity or not known yet."""
    match asked:
        case Cell():
            return None
        case Quantity():
            return asked.kind, asked.unit
        case Depends():
            try:
                shape = asked.shape(dict(table))
            except (KeyError, TypeError):
                return None
            return None if shape is None else (shape[0], shape[3])
        case _:
            return None


def ending(asked: Asked | None, table: Mapping[str, Any]) -> str:
    """Return how the name of a field's number ends; nothing when it has none."""
    counted = counted_in(asked, table)
    return "" if counted is None else _ENDINGS[counted]


def number_of(typed: object, kind: str, unit: str) -> float | None:
    """Return what was typed as a number of the unit, exactly as written where it was written in it.

    Examples
    --------
    >>> number_of("5 in", "length", "mm"), number_of("125.4 mm", "length", "mm"), number_of("-", "length", "mm")
    (127.0, 125.4, None)
    """
    if isinstance(typed, bool) or not isinstance(typed, str | int | float):
        return None
    try:
        value = parse(typed, kind, unit)
        number, own = split(typed) if isinstance(typed, str) else (float(typed), "")
    except UnitProblem:
        return None
    return number if own in ("", unit) else from_core(value, kind, unit)


def with_numbers(section: type[Section], table: Mapping[str, Any]) -> Table:
    """Return a table of the visit file with the number of each quantity beside it.

    Examples
    --------
    >>> from sparkout.visit.sections import ReelSection
    >>> with_numbers(ReelSection, {"blades": 11, "diameter": "5 in"})
    {'blades': 11, 'diameter': '5 in', 'diameter_mm': 127.0}
    """
    told: Table = {}
    for key, typed in table.items():
        told[key] = typed
        asked = declared(section, key) if key in section.model_fields else None
        counted = None if isinstance(typed, list) else counted_in(asked, table)
        if counted is not None and (number := number_of(typed, *counted)) is not None:
            told[f"{key}_{_ENDINGS[counted]}"] = number
    return told


def as_typed(section: type[Section], sent: Mapping[str, Any], path: str = "") -> tuple[Table, list[Problem]]:
    """Return a table sent with names that carry units as the visit file's own, and what is wrong with that.

    A name that belongs to nothing stays, so that whoever reads the table refuses it in their own words.

    Examples
    --------
    >>> from sparkout.visit.sections import ReelSection
    >>> as_typed(ReelSection, {"blades": 11, "diameter_mm": 127.5})
    ({'blades': 11, 'diameter': 127.5}, [])
    """
    plain = {key: value for key, value in sent.items() if _without_ending(section, key, sent) is None}
    problems: list[Problem] = []
    for key, value in sent.items():
        name = _without_ending(section, key, sent)
        if name is None or value is None:
            continue
        where = f"{path}.{key}" if path else key
        if isinstance(value, bool) or not isinstance(value, int | float):
            problems.append(
                Problem(
                    where, None, phrase("{given} is not a number", given=shown(value)), shown(value), phrase("a number")
                )
            )
        elif plain.get(name) is None:
            plain[name] = value
        elif not _agree(section, name, plain, value):
            text = phrase(
                "{typed} and {number} are not the same; send one of {name} and {key}",
                typed=shown(plain[name]), number=shown(value), name=AsTyped(name), key=AsTyped(key),
            )  # fmt: skip
            problems.append(Problem(where, None, text, shown(value)))
    return plain, problems


def _without_ending(section: type[Section], key: str, table: Mapping[str, Any]) -> str | None:
    """Return the field whose number a name carries."""
    if key in section.model_fields:
        return None
    for end in ENDINGS:
        name = key.removesuffix(f"_{end}")
        if name != key and name in section.model_fields and ending(declared(section, name), table) == end:
            return name
    return None


def _agree(section: type[Section], name: str, table: Table, number: float) -> bool:
    counted = counted_in(declared(section, name), table)
    told = None if counted is None else number_of(table[name], *counted)
    return told is None or math.isclose(told, number, rel_tol=1e-9, abs_tol=1e-12)


def number_schemas(section: type[Section], leave: Iterable[str] = ()) -> dict[str, Any]:
    """Return the JSON Schemas of the names that carry a unit."""
    found = {}
    for field in described(section):
        if field.key in leave or field.many is not None or not isinstance(field.asked, Quantity | Depends):
            continue
        if isinstance(field.asked, Quantity):
            end = ending(field.asked, {})
            found[f"{field.key}_{end}"] = {"type": "number", "description": f"{field.key} as a number"}
        elif not isinstance(field.asked, Cell):
            for end in ("mm", "deg", "N", "number"):
                words = f"{field.key} as a number, where `{field.asked.on}` makes it count so"
                found[f"{field.key}_{end}"] = {"type": "number", "description": words}
    return found
