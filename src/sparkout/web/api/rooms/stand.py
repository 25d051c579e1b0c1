"""How a unit stands: what is kept of it, what its last visit tells, and after that visit's plan."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.reckoning.answer import Untold
from sparkout.reckoning.as_data import stance_data
from sparkout.reckoning.standing import figures_of_visit
from sparkout.records.operations.doing import today
from sparkout.records.operations.units import keep_stance
from sparkout.records.queries import visit_file
from sparkout.visit.sections import HeightSection, KnifeSection
from sparkout.web.api import records
from sparkout.web.api.body import table, text
from sparkout.web.api.making import doing
from sparkout.web.api.route import Route
from sparkout.web.api.told.things import UnitTold
from sparkout.web.visit.bench import answered

if TYPE_CHECKING:
    from sparkout.web.api.route import Ask


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
        file = visit_file(visit)
    except Refusal as refusal:
        return {**told, "why_not": refusal.words}
    answer = answered(file, today())
    if isinstance(answer, str):
        return {**told, "why_not": answer}
    figures = asdict(figures_of_visit(file, answer))
    told["figures"] = {name: value for name, value in figures.items() if value is not None}
    if isinstance(answer.stance, Untold):
        return {**told, "why_not": answer.stance.wanted}
    return {**told, "stance": stance_data(answer.stance)}


ROUTES = (
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
