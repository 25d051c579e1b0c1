"""A Visit back to a file, and the commented file to start from."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from sparkout.visit.fields import Described, described, sections
from sparkout.visit.schema import VERSION
from sparkout.visit.words import Text

if TYPE_CHECKING:
    from pydantic import BaseModel

    from sparkout.visit.entered import Typed
    from sparkout.visit.schema import Visit


def to_json(visit: Visit) -> str:
    """Return the visit as JSON text; quantities as they were typed."""
    return json.dumps(_tables(visit.model_dump(mode="json", exclude_none=True)), ensure_ascii=False, indent=2) + "\n"


def to_toml(visit: Visit) -> str:
    """Return the visit as TOML text; quantities as they were typed, comments of an earlier file not kept.

    Examples
    --------
    >>> from sparkout.visit.reading import read_visit
    >>> print(to_toml(read_visit('unit.name = "3"\\nreel = {blades = 11, diameter = "5 in", length = 533}')), end="")
    sparkout = 1
    <BLANKLINE>
    [unit]
    name = "3"
    <BLANKLINE>
    [reel]
    blades = 11
    diameter = "5 in"
    length = 533
    """
    lines: list[str] = []
    for name, content in _tables(visit.model_dump(exclude_none=True)).items():
        if isinstance(content, dict):
            lines += ["", f"[{name}]", *_pairs(content)]
        elif isinstance(content, tuple):
            for table in content:
                lines += ["", f"[[{name}]]", *_pairs(table)]
        else:
            lines.append(f"{name} = {_value(content)}")
    return "\n".join(lines) + "\n"


def _tables(dumped: dict[str, Any]) -> dict[str, Any]:
    return {name: content for name, content in dumped.items() if content not in ({}, (), [])}


def _pairs(table: dict[str, Any]) -> list[str]:
    return [f"{key} = {_value(value)}" for key, value in table.items()]


def _value(value: Any) -> str:
    """Return a value in TOML; a list of lists one row per line."""
    match value:
        case str():
            return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
        case bool():
            return "true" if value else "false"
        case datetime.date() | datetime.time():
            return value.isoformat()
        case list() | tuple() if value and isinstance(value[0], list | tuple):
            return "[\n" + "".join(f"    {_value(row)},\n" for row in value) + "]"
        case list() | tuple():
            return f"[{', '.join(map(_value, value))}]"
        case _:
            return repr(value)


_HEAD = f"""\
# A visit: one cutting unit's pass through the workshop (layout {VERSION}).
#
# Only the lines without a # in front are needed; change them to your unit. To use another line, take away
# its # and put in your own value. Values behind a # only show the form: they are invented, no setting to use.
# Texts and quantities with a unit stand in quotes: "2 thou", "0.05 mm", "5 1/2 in", "11 h". A number
# without a unit counts in the unit named at the end of its line, whatever is shown on the screen.
# Left is the left hand of an operator behind the machine, facing travel. Tables in [[double brackets]] may
# be repeated as often as wanted.
"""


def starting_file(
    name: str = "change me",
    blades: int = 11,
    diameter: Typed = "127 mm",
    length: Typed = "533 mm",
    **visit: Any,
) -> str:
    """Return a commented visit file to start from, valid as it stands; every line is made from the schema.

    `visit` gives entries of [visit]: date, technician, vocabulary, units, paper_size, demonstration.

    Examples
    --------
    >>> from sparkout.visit.reading import read_visit
    >>> read_visit(starting_file("unit 3", vocabulary="us")).unit.name
    'unit 3'
    """
    given: dict[str, dict[str, Any]] = {
        "unit": {"name": name},
        "reel": {"blades": blades, "diameter": diameter, "length": length},
        "visit": visit,
    }
    lines = [_HEAD, f"sparkout = {VERSION}"]
    for table, model, many in sections():
        lines.append("")
        lines.extend(_table(table, model, many, given.get(table, {})))
    return "\n".join(lines) + "\n"


def _table(name: str, model: type[BaseModel], many: bool, given: dict[str, Any]) -> Iterator[str]:
    yield f"# {' '.join((model.__doc__ or '').split())}"
    yield f"#[[{name}]]" if many else f"[{name}]"
    for field in described(model):
        if field.key in given:
            yield f"{field.key} = {_value(given[field.key])}  # {_explained(field)}"
        elif field.example == "":
            yield f"# {field.key}: {_explained(field)}"
        else:
            value = _value(field.example).replace("\n", "\n#")
            yield f"#{field.key} = {value}  # {_explained(field)}"


def _explained(field: Described) -> str:
    needed = "needed; " if field.needed else ""
    allowed = f" ({field.asked.allowed})" if field.asked.allowed and not isinstance(field.asked, Text) else ""
    return f"{needed}{field.meaning}{allowed}"
