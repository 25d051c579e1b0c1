"""Half-entered visits: the demonstration's fullest unit with kinds of readings and whole tables left out."""

from __future__ import annotations

import tomllib
from functools import cache
from typing import TYPE_CHECKING, Any

from sparkout.demonstration.listing import demonstration_files
from sparkout.reckoning.reckon import reckon
from sparkout.visit.reading import read_visit_file
from sparkout.visit.schema import Visit

if TYPE_CHECKING:
    from sparkout.reckoning.answer import Answer

Data = dict[str, Any]
DROPPED_READINGS = {
    "every diameter": ("diameter",),
    "rest gaps": ("rest gap",),
    "dial sweeps": ("run-out", "shaft"),
    "frame and knife straightness": ("frame", "knife straightness"),
    "land": ("land",),
    "knife's own readings": ("lip height", "front lip depth", "top angle", "front angle", "edge rounding"),
    "gaps": ("gap",),
    "bearings, rollers, nicks": (
        "end play",
        "radial play",
        "drag",
        "roller diameter",
        "height of cut",
        "adjuster count",
        "nick depth",
    ),
}
DROPPED_TABLES = ("limits", "grinder", "knife", "height", "wanted", "paper", "work", "mowing", "gauge figures")
DROPPABLE = (*DROPPED_READINGS, *DROPPED_TABLES, "as left")
IN_ORDER = (
    "paper", "work", "as left", "bearings, rollers, nicks", "gaps", "wanted", "grinder", "knife", "land", "limits",
    "frame and knife straightness", "dial sweeps", "knife's own readings", "gauge figures", "every diameter", "height",
    "mowing", "rest gaps",
)  # fmt: skip
"""From the fullest file to an empty one, each step leaving out one thing more."""
assert sorted(IN_ORDER) == sorted(DROPPABLE)


def data_of(name: str = "coned-as-left") -> Data:
    return tomllib.loads(demonstration_files()[name].read_text(encoding="utf-8"))


def without(data: Data, *dropped: str) -> Data:
    """Return the visit's tables with some things left out."""
    kept = dict(data)
    for thing in dropped:
        if thing in DROPPED_READINGS:
            for table in ("readings", "sweeps"):
                kept[table] = [r for r in kept.get(table, []) if r["of"] not in DROPPED_READINGS[thing]]
        elif thing == "as left":
            for table in ("readings", "sweeps", "paper"):
                kept[table] = [r for r in kept.get(table, []) if r.get("when", "as found") == "as found"]
        elif thing == "gauge figures":
            kept["gauges"] = [{"id": g["id"], "kind": g["kind"]} for g in kept.get("gauges", [])]
        else:
            kept.pop(thing, None)
    return kept


PARTIAL: dict[str, tuple[str, ...]] = {f"without {thing}": (thing,) for thing in DROPPABLE} | {
    f"first {count} left out": IN_ORDER[:count] for count in range(2, len(IN_ORDER) + 1)
}


def reckoned(data: Data) -> Answer:
    visit = Visit.model_validate(data)
    return reckon(visit)


@cache
def partial_answer(name: str) -> Answer:
    import json

    data = without(data_of(), *PARTIAL[name])
    file = read_visit_file(json.dumps(data, default=str))
    return reckon(file.visit, file.questions(file.visit.visit.date))
