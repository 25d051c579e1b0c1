"""What the schemas are made of: references, tables of the visit file with their numbers beside them."""

from __future__ import annotations

from typing import Annotated, Any

from ninja import Schema
from pydantic import BeforeValidator, WithJsonSchema

from sparkout.visit.sections import (
    GaugeEntry,
    GrinderSection,
    HeightSection,
    KnifeSection,
    LimitEntry,
    MowingSection,
    ReelSection,
    Section,
    WantedSection,
)
from sparkout.visit.taken import PaperProof, Reading, Sweep, WorkEntry
from sparkout.web.api.units import number_of, number_schemas, with_numbers

TABLES: dict[str, type[Section]] = {
    "ReelTable": ReelSection,
    "KnifeTable": KnifeSection,
    "HeightTable": HeightSection,
    "MowingTable": MowingSection,
    "GrinderTable": GrinderSection,
    "WantedTable": WantedSection,
    "GaugeTable": GaugeEntry,
    "LimitTable": LimitEntry,
    "ReadingTable": Reading,
    "SweepTable": Sweep,
    "WorkTable": WorkEntry,
    "PaperTable": PaperProof,
}
"""Tables of the visit file as components of the OpenAPI document; here too a part of one may stand alone."""


TABLE = "x-table"


def table_schemas() -> dict[str, Any]:
    """Return the JSON Schemas of the tables."""
    found = {}
    for name, section in TABLES.items():
        made = section.model_json_schema()
        properties = {k: {a: b for a, b in v.items() if a != "title"} for k, v in made["properties"].items()}
        found[name] = {
            "type": "object",
            "title": name,
            "description": " ".join((section.__doc__ or "").split()),
            "properties": properties | number_schemas(section),
        }
    return found


def numbered(component: str, table: dict[str, Any] | None) -> dict[str, Any]:
    """Return a table with the number of each quantity beside it."""
    return with_numbers(TABLES[component], table or {})


def _numbering(component: str) -> BeforeValidator:
    return BeforeValidator(lambda table: numbered(component, table))


def _described(component: str) -> WithJsonSchema:
    return WithJsonSchema({"type": "object", TABLE: component})


def referring(schema: Any) -> Any:
    """Return a schema whose marked tables refer to the components of the document (pydantic itself cannot say so)."""
    if isinstance(schema, dict):
        if TABLE in schema:
            return {"$ref": f"#/components/schemas/{schema[TABLE]}"}
        return {key: referring(value) for key, value in schema.items()}
    return [referring(value) for value in schema] if isinstance(schema, list) else schema


Table = dict[str, Any]
ReelTable = Annotated[Table, _numbering("ReelTable"), _described("ReelTable")]
KnifeTable = Annotated[Table, _numbering("KnifeTable"), _described("KnifeTable")]
HeightTable = Annotated[Table, _numbering("HeightTable"), _described("HeightTable")]
MowingTable = Annotated[Table, _numbering("MowingTable"), _described("MowingTable")]
GrinderTable = Annotated[Table, _numbering("GrinderTable"), _described("GrinderTable")]
WantedTable = Annotated[Table, _numbering("WantedTable"), _described("WantedTable")]
LimitTable = Annotated[Table, _numbering("LimitTable"), _described("LimitTable")]
GaugeTable = Annotated[Table, _numbering("GaugeTable"), _described("GaugeTable")]
ReadingTable = Annotated[Table, _numbering("ReadingTable"), _described("ReadingTable")]
SweepTable = Annotated[Table, _numbering("SweepTable"), _described("SweepTable")]
WorkTable = Annotated[Table, _numbering("WorkTable"), _described("WorkTable")]
PaperTable = Annotated[Table, _numbering("PaperTable"), _described("PaperTable")]
Hours = Annotated[float | None, BeforeValidator(lambda typed: number_of(typed, "time", "h"))]
"""What was typed of a unit's clock as a number of hours."""


class Named(Schema):
    """Another record, by its number and what it is called."""

    id: int
    name: str

    @staticmethod
    def resolve_name(obj: Any) -> str:
        """Return what it is called."""
        return str(obj)
