"""docs/calculations.md from the catalogue, each entry with a worked example run while the page is made."""

from __future__ import annotations

import shlex

from docs.making.commands import shown
from docs.making.markdown import table

from sparkout.catalogue.entry import Entry, Input, range_text
from sparkout.catalogue.listing import CATALOGUE
from sparkout.units import KINDS

INTRODUCTION = """\
# Calculations

Made from `src/sparkout/catalogue/` by `python docs/make.py`; change the code, not the page.

One catalogue serves every door. On the command line: `sparkout calc` lists it, `sparkout calc NAME` explains one
entry, `sparkout calc NAME key=value ...` answers it, `--json` answers a program. A value may carry any unit of its
kind (`travel_speed="2.8 mph"`); a bare number counts in the unit shown. Ranges stop slips of unit and decimal point;
they are no limits of the trade.
"""
WITHOUT_UNIT = {"choice": "", "list": "numbers", "same": "any one unit"}


def page() -> str:
    """Return the page."""
    listed = table(
        ("name", "what"), [(f"[{e.name}](#{e.name})", e.title) for e in sorted(CATALOGUE.values(), key=_name)]
    )
    return "\n".join([INTRODUCTION, listed, *(_entry(e) for e in sorted(CATALOGUE.values(), key=_name))])


def _name(entry: Entry) -> str:
    return entry.name


def _entry(entry: Entry) -> str:
    inputs = [(f"`{i.key}`", i.unit or WITHOUT_UNIT.get(i.kind, ""), _allowed(i), i.meaning) for i in entry.inputs]
    results = [(f"`{r.key}`", r.unit or WITHOUT_UNIT.get(r.kind, ""), r.meaning) for r in entry.results]
    command = f"calc {entry.name} {entry.example}"
    parts = [f"\n## {entry.name}\n", f"{entry.title}.\n", f"> {entry.equation}\n"]
    parts += [table(("input", "unit", "allowed", "meaning"), inputs), table(("result", "unit", "meaning"), results)]
    parts += [f"* **Source:** {entry.source}", f"* **Validity:** {entry.validity}"]
    parts += [f"* **Caution:** {entry.caution}"] if entry.caution else []
    parts += [f"\n```console\n$ sparkout {command}\n{shown(shlex.split(command))}\n```"]
    return "\n".join(parts) + "\n"


def _allowed(item: Input) -> str:
    if item.choices:
        return ", ".join(f"`{choice}`" for choice in item.choices)
    text = range_text(item)
    if item.kind == "count":
        text = f"whole, {text}"
    if item.default is not None:
        return f"{text}; {item.default:g} when not given"
    return f"{text}; may be absent" if item.optional else text


assert set(WITHOUT_UNIT).isdisjoint(KINDS), "these are no kinds of quantity"
