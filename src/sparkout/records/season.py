"""What the records tell the season: the sheet that holds, the plans on file, the season as it stands."""

from __future__ import annotations

import datetime
from collections import Counter
from typing import Any

from sparkout.records.models import (
    Job,
    KeptSheet,
    SeasonPlan,
    WorkDone,
)
from sparkout.records.models.visits import SIGNED
from sparkout.records.operations.doing import today as this_day
from sparkout.records.tables import standing
from sparkout.records.units_now import SHARPENS, UnitsOnFile, units_now
from sparkout.season.now import SeasonNow, SeasonPlanned, held, season_now, told
from sparkout.season.placing import Placed, from_data, still_to_come
from sparkout.season.sheet import SeasonSheet, sheet_of
from sparkout.season.work import plan_kept


def kept_sheet(what_if: str = "") -> KeptSheet | None:
    """Return the sheet that holds: the workshop's own, or a what-if of that name."""
    return KeptSheet.objects.filter(what_if=what_if, ended_at=None).first()


def sheet_now(what_if: str = "") -> SeasonSheet:
    """Return the sheet that holds, checked; the usual figures where nothing was ever set."""
    kept = kept_sheet(what_if)
    return sheet_of({} if kept is None else kept.tables)


def what_ifs() -> list[KeptSheet]:
    """Return the what-ifs on file, by name."""
    return list(KeptSheet.objects.filter(ended_at=None).exclude(what_if="").order_by("what_if"))


def kept_plan(what_if: str = "") -> SeasonPlan | None:
    """Return the plan that is kept of a sheet: the last one kept, of whichever state of it."""
    found: SeasonPlan | None = _plans(what_if).filter(ended_at=None).exclude(kept_at=None).first()
    return found


def last_plan(what_if: str = "") -> SeasonPlan | None:
    """Return the plan made last of a sheet, kept or not."""
    found: SeasonPlan | None = _plans(what_if).first()
    return found


def _plans(what_if: str) -> Any:
    return SeasonPlan.objects.filter(sheet__what_if=what_if).select_related("sheet", "job", "made_by").order_by("-pk")


def placements(plan: SeasonPlan | None, units: UnitsOnFile | None = None) -> tuple[Placed, ...]:
    """Return what a plan says, job by job; with the units on file, what of it is still to come."""
    if plan is None:
        return ()
    made = tuple(map(from_data, plan.placements))
    return made if units is None else still_to_come(made, _sharpened_since(plan, units))


def _sharpened_since(plan: SeasonPlan, units: UnitsOnFile) -> dict[str, int]:
    """Return how often each unit has been sharpened and signed since a plan was made."""
    names = {number: name for name, number in units.numbers.items()}
    signed = standing(WorkDone).filter(visit__state=SIGNED, visit__signed_at__gt=plan.made_at)
    done = {
        (visit, unit)
        for visit, unit, entry in signed.values_list("visit", "visit__unit", "entry")
        if entry["step"] in SHARPENS
    }
    return Counter(names[unit] for _, unit in done if unit in names)


def season_on_file(what_if: str = "", seconds: float | None = None) -> tuple[UnitsOnFile, SeasonNow]:
    """Return the units on file and the season as it stands today by the sheet that holds."""
    units = units_now(this_day(), seconds)
    return units, season_now(sheet_now(what_if), units.units, this_day())


def plan_shown(season: SeasonNow, units: UnitsOnFile, plan: SeasonPlan | None) -> SeasonPlanned | None:
    """Return a plan on file as it stands today; None where there is none, or no work."""
    if plan is None or season.work is None:
        return None
    same = plan.on == this_day() and plan.sheet.ended_at is None
    return held(season, placements(plan, units), plan.bound if same else 0.0)


def best_so_far(season: SeasonNow, job: Job | None) -> SeasonPlanned | None:
    """Return the best plan so far of one that is being made; None where none is being made, or none is known yet."""
    best = None if job is None or not job.is_going_on else (job.told or {}).get("best")
    if best is None or season.work is None:
        return None
    days = {
        name: (datetime.date.fromisoformat(day) - season.work.start).days
        for name, day in best["days"].items()
        if day is not None
    }
    return told(season, plan_kept(season.work, days))


def plan_of_job(job: Job) -> SeasonPlan | None:
    """Return the plan that came of a piece of work, as soon as there is one."""
    return SeasonPlan.objects.filter(job=job).select_related("sheet", "job", "made_by").order_by("-pk").first()
