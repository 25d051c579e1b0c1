"""How a unit stands and mows, and the units of a machine matched: from what is on file and what is asked beside it."""

from __future__ import annotations

from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.reckoning.answer import Untold
from sparkout.reckoning.as_data import stance_data
from sparkout.reckoning.matching import UnitTyped, matching, matching_data
from sparkout.reckoning.on_turf import TurfFigures, on_turf, on_turf_data
from sparkout.reckoning.standing import figures_of_visit
from sparkout.records.checked import checked_value
from sparkout.records.heights import heights_of
from sparkout.records.operations.doing import today
from sparkout.records.operations.units import keep_stance
from sparkout.visit.asked import Quantity
from sparkout.visit.sections import HeightSection, KnifeSection
from sparkout.web.api import records
from sparkout.web.api.body import Body, read, table, text
from sparkout.web.api.making import doing
from sparkout.web.api.route import Route
from sparkout.web.api.told.things import UnitTold
from sparkout.web.stand import clip
from sparkout.web.stand.matching import COMMON, common
from sparkout.web.visit.reckoned import reckoned

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from sparkout.visit.asked import Asked
    from sparkout.web.api.route import Ask
    from sparkout.web.shell.form import Field as Entry


def _stance(ask: Ask) -> dict[str, Any]:
    unit = ask.record
    kept = {"pattern": unit.pattern, "carrier": unit.carrier, "height": unit.height}
    told: dict[str, Any] = {
        "unit": unit.pk,
        "kept": kept,
        "visit": None,
        "figures": {},
        "why_not": None,
        "stance": None,
    }
    visit = unit.visits.order_by("-pk").first()
    if visit is None:
        return told
    told["visit"] = visit.pk
    try:
        on_file = reckoned(visit, today())
    except Refusal as refusal:
        return {**told, "why_not": refusal.words}
    file, answer = on_file.file, on_file.answer
    if isinstance(answer, str):
        return {**told, "why_not": answer}
    figures = asdict(figures_of_visit(file, answer))
    told["figures"] = {name: value for name, value in figures.items() if value is not None}
    if isinstance(answer.stance, Untold):
        return {**told, "why_not": answer.stance.wanted}
    return {**told, "stance": stance_data(answer.stance)}


def _takes(entries: Iterable[Entry]) -> dict[str, Asked]:
    return {entry.name: entry.takes for entry in entries if entry.takes is not None}


_COMMON = _takes(COMMON.fields)
_STRIP = {"standing_grass", "helix", "low_blade", "bobbing"}
_MOWING = _takes(entry for group in clip.GROUPS for entry in group.fields if entry.name not in _STRIP)
"""What is asked beside the figures on file: all of the page but the strip drawn."""


def _asks(entries: Iterable[Entry], takes: Mapping[str, Asked]) -> Body:
    """Return what may stand in the address: the boxes of the page, each told by its label."""
    labels = {entry.name: entry.label for entry in entries}
    fields = [read(name, asked) for name, asked in takes.items()]
    return Body(tuple(replace(f, meaning=", ".join(filter(None, (labels[f.name], f.meaning)))) for f in fields))


def _core(takes: Mapping[str, Asked], values: Mapping[str, Any]) -> dict[str, Any]:
    return {
        name: float(value) if isinstance(takes[name], Quantity) else value
        for name, value in values.items()
        if value is not None
    }


def _matching(ask: Ask) -> dict[str, Any]:
    units = heights_of(ask.record)
    heights = [
        {"unit": u.unit.pk, "name": u.name, "visit": None if u.visit is None else u.visit.pk, "when": u.when or None,
         "left_mm": u.left, "right_mm": u.right}
        for u in units
    ]  # fmt: skip
    rows = [UnitTyped(u.name, u.left, u.right) for u in units if u.left is not None and u.right is not None]
    missing = [u.name for u in units if u.left is None or u.right is None]
    asked = common(_core(_COMMON, ask.query))
    found = matching_data(matching(rows, **asked)) if rows and "rise" in asked else None
    return {"machine": ask.record.pk, "heights": heights, "not_measured": missing, "matched": found}


def _mowing(ask: Ask) -> dict[str, Any]:
    on_file = clip.figures_on_file(ask.record).items()
    known = {name: checked_value(name, _MOWING[name], value) for name, value in on_file if name in _MOWING}
    values = _core(_MOWING, known | ask.query)
    figures = TurfFigures(**values)
    told = {"unit": ask.record.pk, "figures": values, "missing": list(figures.missing), "on_turf": None}
    return told if figures.missing else {**told, "on_turf": on_turf_data(on_turf(figures))}


ROUTES = (
    Route(
        "GET", "machines/{int:number}/matching", "matching_of_machine", "units", _matching, about=records.MACHINE,
        asks=_asks(COMMON.fields, _COMMON),
        words="The units of a machine to one height of cut with the least turning, by the heights measured last of "
        "each (as left, else as found; mm); without rise the heights alone.",
        example={"machine": 1, "heights": [], "not_measured": [], "matched": None},
    ),
    Route(
        "GET", "units/{int:number}/mowing", "mowing_of_unit", "units", _mowing, about=records.UNIT,
        asks=_asks((entry for group in clip.GROUPS for entry in group.fields), _MOWING),
        words="Clip, the workshop's own band, growth and what makes the ribs, by the figures kept with a unit and "
        "those asked here, which come first (mm, mm/s, rad/s, s).",
        example={"unit": 1, "figures": {}, "missing": ["travel_speed"], "on_turf": None},
    ),
    Route(
        "GET", "units/{int:number}/stance", "stance_of_unit", "units", _stance, about=records.UNIT,
        words="How a unit stands: what is kept with it, the figures its last visit adds (mm, rad), how it stood then "
        "and would after that visit's plan, with what to turn.",
        example={"unit": 1, "kept": {"pattern": "knife up", "carrier": {}, "height": {}}, "visit": None, "figures": {},
                 "why_not": None, "stance": None},
    ),
    doing(
        "PATCH", "units/{int:number}/stance", keep_stance, "units", UnitTold, about=records.UNIT,
        takes=(
            text("pattern", "which part the adjuster moves: 'knife up' or 'reel down'", "knife up"),
            table("carrier", KnifeSection, "what carries the knife: entries of [knife] that belong to the unit",
                  component="KnifeTable"),
            table("height", HeightSection, "rollers and height of cut", component="HeightTable"),
        ),
    ),
)  # fmt: skip
