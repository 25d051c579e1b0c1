"""Form fields made from the visit file's declarations, so that a form asks and refuses as the file does."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sparkout.units import KINDS
from sparkout.visit.asked import Quantity
from sparkout.visit.fields import declared, described
from sparkout.visit.sections import (
    GaugeEntry,
    GrinderSection,
    HeightSection,
    KnifeSection,
    LimitEntry,
    MowingSection,
    ReelSection,
    UnitSection,
    WantedSection,
)
from sparkout.web.shell.form import Field

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from pydantic import BaseModel

    from sparkout.showing import Showing

__all__ = [
    "GaugeEntry",
    "GrinderSection",
    "HeightSection",
    "KnifeSection",
    "LimitEntry",
    "MowingSection",
    "ReelSection",
    "UnitSection",
    "WantedSection",
    "fields_of",
    "figure",
]


def fields_of(
    section: type[BaseModel], keys: Iterable[str] | None = None, needed: Iterable[str] = (), **own: Any
) -> tuple[Field, ...]:
    """Return the fields of a section of the visit file, all or those named; `own` puts others in their places."""
    wanted = [entry.key for entry in described(section)] if keys is None else list(keys)
    must = set(needed)
    return tuple(own.get(key) or Field(key, takes=declared(section, key), needed=key in must) for key in wanted)


def figure(section: type[BaseModel], table: Mapping[str, Any], key: str, showing: Showing) -> str:
    """Return one entry of a table on file in the reader's units, else as it was typed."""
    value = table.get(key)
    takes = declared(section, key)
    if value is None:
        return ""
    if not isinstance(takes, Quantity) or takes.kind in ("number", "fraction", "count"):
        return str(value)
    told = takes.read(value)
    unit = takes.unit if takes.unit in KINDS[takes.kind].units else None
    return (
        showing.length(float(told)) if takes.kind == "length" else showing.quantity(float(told), takes.kind, unit=unit)
    )
