"""The JSON Schema of the visit file and its field reference, made from the declarations.

`python -m sparkout.visit.schema_docs FOLDER` writes both there; a test holds the committed ones to this.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from sparkout.visit.fields import described, sections
from sparkout.visit.quantities import GAUGE_KINDS, GAUGE_MEANING, QUANTITIES, gauge_shows
from sparkout.visit.reading import LARGEST
from sparkout.visit.schema import VERSION, Visit

SCHEMA_NAME = "visit.schema.json"
PAGE_NAME = "visit-file.md"


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of the visit file.

    Ranges of quantities typed as text with a unit cannot be said in JSON Schema; they stand in x-kind, x-unit and
    x-range, and for readings and limits in x-quantities.
    """
    made = Visit.model_json_schema()
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **made,
        "title": f"Sparkout visit file, layout {VERSION}",
        "x-quantities": {
            name: {
                "kind": q.kind,
                "unit": q.unit,
                "range": [q.low, q.high],
                "gauges": list(q.gauges),
                "meaning": q.meaning,
            }
            for name, q in QUANTITIES.items()
        },
    }


_INTRODUCTION = f"""\
# The visit file

This page is made from the code (`python -m sparkout.visit.schema_docs docs`); change the code, not the page.

A visit is one cutting unit's pass through the workshop, in one text file: TOML, or JSON with the same names.
`sparkout visit new` writes a commented one to start from, `sparkout visit check FILE` says what is wrong with
one, all at once. Only the unit's name and the reel's blades, diameter and length are needed; everything else may
come later, or never: with three readings you get what three readings can say. The file is UTF-8 text of at
most {LARGEST / 1e6:g} MB. A machine-readable description stands in [{SCHEMA_NAME}]({SCHEMA_NAME}).

**Quantities** carry their unit: `"2 thou"`, `"0.05 mm"`, `"0,05 mm"`, `"5 1/2 in"`, `"11 h"`, `"18 °C"`. A number
without a unit counts in the unit shown with its range below, also when the screen shows inches. Writing a visit
again keeps every quantity as it was typed.

**Places** along the reel are words or a length from the left end. Left is the left hand of an operator behind the
machine, facing travel; *left* and *right* are the ends of the blades, *centre* the middle between them.

**Blades** are numbered from 1, the marked blade, against rotation.

**Ranges** stop slips of unit and decimal point; they are no limits of the trade. A workshop's own limits, with
their origin, go into `[[limits]]`. What is in range but looks like a slip is asked, never changed.

A table in single brackets stands once; one in double brackets as often as needed.
"""

_SET_UPS = """
Dial readings (run-out, shaft, frame, knife straightness) have a free zero. Readings with the same `set_up` share
one zero; a sweep without a `set_up` has a zero of its own.
"""


def field_reference() -> str:
    """Return the field reference page, in Markdown."""
    parts = [_INTRODUCTION]
    for name, model, many in sections():
        brackets = f"[[{name}]]" if many else f"[{name}]"
        parts.append(f"\n## `{brackets}`\n\n{' '.join((model.__doc__ or '').split())}\n")
        rows = [
            (f"`{f.key}`", "yes" if f.needed else "", f.meaning, f.takes, f.asked.allowed) for f in described(model)
        ]
        parts.append(_table(("key", "needed", "meaning", "takes", "allowed"), rows))
        if name == "sweeps":
            parts.append(_SET_UPS)
    parts.append("\n## Quantities that readings and limits name\n")
    parts.append(
        _table(("name", "meaning", "range", "gauges", "a reading needs", "use"), [_row(n) for n in QUANTITIES])
    )
    parts.append("\n## Kinds of gauge\n")
    gauges = [(f"`{kind}`", GAUGE_MEANING[kind], gauge_shows(kind)[1]) for kind in GAUGE_KINDS]
    parts.append(_table(("kind", "meaning", "its figures count in"), gauges))
    return "\n".join(parts)


def _row(name: str) -> tuple[str, ...]:
    entry = QUANTITIES[name]
    use = " and ".join(word for word, used in (("readings", entry.read), ("limits", entry.limited)) if used)
    needs = ", ".join(f"`{need}`" for need in entry.needs)
    return f"`{name}`", entry.meaning, f"{entry.allowed} {entry.unit}".rstrip(), ", ".join(entry.gauges), needs, use


def _table(head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    lines = [head, ("---",) * len(head), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines) + "\n"


def schema_text() -> str:
    """Return the JSON Schema as the file holds it."""
    return json.dumps(json_schema(), ensure_ascii=False, indent=1) + "\n"


def write_docs(folder: Path) -> None:
    """Write both files."""
    (folder / SCHEMA_NAME).write_text(schema_text(), encoding="utf-8")
    (folder / PAGE_NAME).write_text(field_reference(), encoding="utf-8")


if __name__ == "__main__":
    write_docs(Path(sys.argv[1]))
