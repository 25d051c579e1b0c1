"""The season on file: its sheet set, jobs moved by hand, plans made in the background and kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sparkout.core.days import dated
from sparkout.core.errors import OutOfRange, Refusal, within
from sparkout.core.phrase import AsTyped, frozen, phrase
from sparkout.records import season as on_file
from sparkout.records.checked import checked_value, refuse
from sparkout.records.jobs import Progress, Stopped, ask_for, soon, work
from sparkout.records.models import Job, KeptSheet, SeasonPlan
from sparkout.records.operations.doing import Key, asking, now, one_transaction, operation, today
from sparkout.records.units_now import units_now
from sparkout.season.now import SeasonNow, SeasonPlanned, held, moved_to, planned, season_now
from sparkout.season.placing import as_data, from_data
from sparkout.season.sheet import SeasonSheet, as_tables, sheet_of
from sparkout.visit.words import Day, Text

if TYPE_CHECKING:
    import datetime
    from collections.abc import Mapping

    from sparkout.core.season.plan import Progress as HowFar
    from sparkout.records.models import Person
    from sparkout.records.units_now import UnitsOnFile
    from sparkout.season.work import Work

WORK = "season plan"
SECONDS, LONGEST = 20.0, 600.0
"""Time a plan is given where not said, and at most."""
TOLD_EVERY = 2.0
"""Seconds between two plans written down while a better one is looked for."""
WHAT_IF = Text(phrase("name of the what-if"), "one more technician", 100, 1)
ON = Day(phrase("the day"), "2026-12-02")
LISTS = ("people", "grinders", "machines", "away", "fresh", "chosen", "parts", "fetching")
TABLES = ("hours", "costs")


@operation
def set_sheet(*, actor: Person, tables: Mapping[str, Any], what_if: str = "", key: Key = None) -> KeptSheet:
    """Set the season sheet, or a what-if of that name; the sheet before stays on file.

    Raises
    ------
    Refusal
        With everything wrong in it: path, value, what is allowed and its unit.
    """
    ask = asking("set_sheet", actor, key, what_if or "season sheet", tables=tables, what_if=what_if)
    if (done := ask.answered(KeptSheet)) is not None:
        return done
    made, before = _kept(actor, sheet_of(tables), what_if)
    ask.note(made, before=_changed(before, made.tables), after=_changed(made.tables, before))
    return made


@operation
def set_in_sheet(
    *, actor: Person, part: str, entry: Mapping[str, Any], which: int | None = None, what_if: str = "", key: Key = None
) -> KeptSheet:
    """Set one part of the season sheet: a person, a grinder, an absence, an occasion, a rule, a choice, hours, costs.

    `part` is the table's name; of a list `which` is the row to put right, counted from 0 (None: one more). An empty
    part sets what stands outside any table: start, weeks, interval, fresh_days. Entries left out stay as they are.

    Raises
    ------
    Refusal
        As `set_sheet`; or there is no such part or row.
    """
    ask = asking("set_in_sheet", actor, key, part, part=part, entry=entry, which=which, what_if=what_if)
    if (done := ask.answered(KeptSheet)) is not None:
        return done
    tables = _tables(what_if)
    if part == "":
        tables |= entry
    elif part in TABLES:
        tables[part] = {**tables.get(part, {}), **entry}
    else:
        rows = _rows(tables, part)
        if which is None:
            rows.append(dict(entry))
        else:
            rows[_row(rows, part, which)] |= entry
        tables[part] = rows
    made, before = _kept(actor, sheet_of(_without_none(tables)), what_if)
    ask.note(made, before=_changed(before, made.tables), after=_changed(made.tables, before))
    return made


@operation
def take_from_sheet(*, actor: Person, part: str, which: int, what_if: str = "", key: Key = None) -> KeptSheet:
    """Take one row from a list of the season sheet; `which` is counted from 0. The sheet before stays on file.

    Raises
    ------
    Refusal
        When there is no such part or row, or what is left does not hold together.
    """
    ask = asking("take_from_sheet", actor, key, part, part=part, which=which, what_if=what_if)
    if (done := ask.answered(KeptSheet)) is not None:
        return done
    tables = _tables(what_if)
    rows = _rows(tables, part)
    del rows[_row(rows, part, which)]
    tables[part] = rows
    made, before = _kept(actor, sheet_of(tables), what_if)
    ask.note(made, before=_changed(before, made.tables), after=_changed(made.tables, before))
    return made


@operation
def begin_what_if(*, actor: Person, name: str, key: Key = None) -> KeptSheet:
    """Begin a what-if: a copy of the season sheet to change and to plan beside it.

    Raises
    ------
    Refusal
        When there is one of that name already.
    """
    ask = asking("begin_what_if", actor, key, name, name=name)
    if (done := ask.answered(KeptSheet)) is not None:
        return done
    told = checked_value("name", WHAT_IF, name).strip()
    if not told or on_file.kept_sheet(told) is not None:
        raise refuse("name", phrase("there is already a what-if '{name}'", name=AsTyped(told)), value=told)
    made = KeptSheet.objects.create(what_if=told, tables=_tables(""), made_by=actor, made_at=now())
    ask.note(made, after={"name": told})
    return made


@operation
def forget_what_if(*, actor: Person, name: str, key: Key = None) -> KeptSheet:
    """Put a what-if away; it stays on file, for plans were made of it.

    Raises
    ------
    Refusal
        When there is none of that name.
    """
    ask = asking("forget_what_if", actor, key, name, name=name)
    if (done := ask.answered(KeptSheet)) is not None:
        return done
    sheet = _sheet_called(name) if name else None
    if sheet is None:
        raise refuse("name", phrase("the workshop's own sheet is no what-if"))
    sheet.ended_at = now()
    sheet.save()
    ask.note(sheet, before={"name": name})
    return sheet


@operation
def move_job(*, actor: Person, job: str, on: Any, what_if: str = "", key: Key = None) -> SeasonPlan | None:
    """Choose a job's day by hand: every plan keeps to it until it is released. The kept plan has it there at once.

    None: nothing was kept yet, so only the choice is.

    Raises
    ------
    Refusal
        When there is no such job in the season, or the day lies outside it.
    """
    ask = asking("move_job", actor, key, job, job=job, on=str(on), what_if=what_if)
    if ask.was_done():
        return on_file.kept_plan(what_if)
    day = checked_value("on", ON, on)
    units, season = on_file.season_on_file(what_if, seconds=0.0)
    _checked_move(season, job, day)
    tables = _tables(what_if)
    tables["chosen"] = [*(row for row in _rows(tables, "chosen") if row["job"] != job), {"job": job, "on": str(day)}]
    sheet, _ = _kept(actor, sheet_of(tables), what_if)
    before = on_file.kept_plan(what_if)
    made = None
    if before is not None:
        there = moved_to(season, on_file.placements(before, units), job, day)
        made = _keep(_made(actor, sheet, there, None))
    ask.note(sheet, before=_day_of(before, job), after={"job": job, "on": str(day)})
    return made


@operation
def release_job(*, actor: Person, job: str, what_if: str = "", key: Key = None) -> KeptSheet:
    """Let plans choose a job's day again: until it is planned anew it stays where it is, if it may stand there at all.

    Raises
    ------
    Refusal
        When its day was not chosen by hand.
    """
    ask = asking("release_job", actor, key, job, job=job, what_if=what_if)
    if (done := ask.answered(KeptSheet)) is not None:
        return done
    tables = _tables(what_if)
    rows = _rows(tables, "chosen")
    was = next((row for row in rows if row["job"] == job), None)
    if was is None:
        text = phrase("the day of '{job}' was not chosen by hand", job=AsTyped(job))
        raise refuse("job", text, value=job, allowed=AsTyped(", ".join(row["job"] for row in rows)))
    tables["chosen"] = [row for row in rows if row["job"] != job]
    made, _ = _kept(actor, sheet_of(tables), what_if)
    ask.note(made, before=was)
    return made


@operation
def make_plan(
    *, actor: Person, seconds: Any = SECONDS, what_if: str = "", hold_on: bool = False, key: Key = None
) -> Job:
    """Ask for a plan of the season; the work is done in the background, best plan first, until stopped or the time is up.

    With `hold_on` it keeps to the days of the kept plan where that is not too dear.

    Raises
    ------
    Refusal
        When there is no work to plan, and why; or the time is out of range.
    """  # noqa: E501
    ask = asking("make_plan", actor, key, what_if or "season", seconds=seconds, what_if=what_if, hold_on=hold_on)
    if (done := ask.answered(Job)) is not None:
        return done
    return _asked(ask, actor, seconds, what_if, hold_on)


@operation
def replan(
    *, actor: Person, away: Mapping[str, Any], seconds: Any = SECONDS, what_if: str = "", key: Key = None
) -> Job:
    """Put on file that somebody is away or a grinder out of work, and ask for a plan that changes as little as can be.

    `away` is a row of the sheet's [[away]]: who, first, last, note.

    Raises
    ------
    Refusal
        As `set_in_sheet` and `make_plan`.
    """
    ask = asking("replan", actor, key, str(away.get("who", "")), away=away, seconds=seconds, what_if=what_if)
    if (done := ask.answered(Job)) is not None:
        return done
    tables = _tables(what_if)
    tables["away"] = [*_rows(tables, "away"), dict(away)]
    _kept(actor, sheet_of(tables), what_if)
    return _asked(ask, actor, seconds, what_if, hold_on=True, after={"away": dict(away)})


@operation
def draft_plan(*, actor: Person, what_if: str = "", key: Key = None) -> SeasonPlan:
    """Put each job where it costs least, one after the other, without a search, and keep that as the plan.

    Jobs of the plan kept before stay where they are. Nothing is proven of it.

    Raises
    ------
    Refusal
        When there is no work to plan, and why.
    """
    ask = asking("draft_plan", actor, key, what_if or "season", what_if=what_if)
    if (done := ask.answered(SeasonPlan)) is not None:
        return done
    sheet = _sheet_called(what_if) or _kept(actor, SeasonSheet(), "")[0]
    units, season = on_file.season_on_file(what_if, seconds=0.0)
    made = held(season, on_file.placements(on_file.kept_plan(what_if), units))
    kept = _keep(_made(actor, sheet, made, None))
    ask.note(kept, after={"plan": kept.pk, "what_if": what_if})
    return kept


@operation
def keep_plan(*, actor: Person, plan: SeasonPlan, key: Key = None) -> SeasonPlan:
    """Keep a plan: it is the one the wall, the calendar and the print tell. The one before stays on file.

    Raises
    ------
    Refusal
        When it is kept already.
    """
    ask = asking("keep_plan", actor, key, str(plan), plan=plan)
    if (done := ask.answered(SeasonPlan)) is not None:
        return done
    held_now = SeasonPlan.objects.select_for_update(of=("self",)).select_related("sheet").get(pk=plan.pk)
    if held_now.kept_at is not None and held_now.ended_at is None:
        raise refuse("plan", phrase("this plan is kept already"))
    before = on_file.kept_plan(held_now.sheet.what_if)
    _keep(held_now)
    ask.note(held_now, before=None if before is None else {"plan": before.pk}, after={"plan": held_now.pk})
    return held_now


def what_a_move_costs(season: SeasonNow, units: UnitsOnFile, plan: SeasonPlan, job: str, on: Any) -> SeasonPlanned:
    """Return the plan as it would be with one job on another day: nothing is kept.

    Raises
    ------
    Refusal
        As `move_job`.
    """
    day = checked_value("on", ON, on)
    _checked_move(season, job, day)
    return moved_to(season, on_file.placements(plan, units), job, day)


def planned_soon(job: Job, seconds: float = 0.5) -> Job:
    """Have the work done, and return the job as it stands after a moment."""
    soon(job, seconds)
    return Job.objects.select_related("asked_by").get(pk=job.pk)


@dataclass
class _Told:
    """How a search tells the job how far it is, and hears that it is to end."""

    progress: Progress
    seconds: float
    work: Work
    stopped: bool = False
    best: dict[str, Any] | None = None
    """The best plan so far as days, with its cost and the second it was written down."""

    def __call__(self, far: HowFar) -> bool:
        gap = 0.0 if far.cost <= 0.0 else max(0.0, (far.cost - far.bound) / far.cost)
        told = {"cost": far.cost, "bound": far.bound, "gap": gap, "seconds": far.seconds, "doing": frozen(far.doing)}
        self._look(far)
        self.progress.job.told = told | {"best": self.best}
        try:
            self.progress.tell(min(int(far.seconds * 10), self.of), self.of, far.doing)
        except Stopped:
            self.stopped = True
        return not self.stopped

    def _look(self, far: HowFar) -> None:
        """Write down the best plan so far where it is better than the one told, now and then."""
        told = self.best
        if told is None or (far.best.cost < told["cost"] - 1e-9 and far.seconds - told["seconds"] >= TOLD_EVERY):
            taken = list(zip(self.work.season.jobs, far.best.taken, strict=True))
            self.best = {
                "cost": far.best.cost,
                "seconds": far.seconds,
                "days": {job.unit: None if one is None else str(self.work.date(one.day)) for job, one in taken},
                "late": sum(one is not None and one.day > job.due for job, one in taken),
                "undone": sum(one is None for _, one in taken),
            }

    @property
    def of(self) -> int:
        """Tenths of a second it may take."""
        return max(1, round(self.seconds * 10))


@work(WORK)
def plan(progress: Progress) -> dict[str, Any]:
    """Plan the season, and put on file the best plan found, also when asked to stop."""
    asked = progress.job.asked
    assert progress.job.about is not None
    sheet = KeptSheet.objects.get(pk=progress.job.about)
    units = units_now(today())
    season = season_now(sheet_of(sheet.tables), units.units, today())
    before = on_file.placements(on_file.kept_plan(sheet.what_if), units) if asked["hold_on"] else ()
    told = _Told(progress, asked["seconds"], season.needed)
    made = planned(season, asked["seconds"], before, told)
    with one_transaction():
        kept = _made(progress.job.asked_by, sheet, made, progress.job)
    if told.stopped:
        raise Stopped
    cost = {"cost": kept.cost, "bound": kept.bound, "gap": kept.gap, "seconds": kept.seconds}
    return {"plan": kept.pk, "late": len(made.late), **cost}


def _asked(ask: Any, actor: Person, seconds: Any, what_if: str, hold_on: bool, **more: Any) -> Job:
    try:
        time_for_it = within("seconds", float(seconds), 0.1, LONGEST, "s")
    except (TypeError, ValueError) as wrong:
        if isinstance(wrong, OutOfRange):
            raise
        raise Refusal(phrase("{given} is no time in seconds", given=AsTyped(str(seconds)[:40]))) from None
    sheet = _sheet_called(what_if) or _kept(actor, SeasonSheet(), "")[0]
    _, season = on_file.season_on_file(what_if, seconds=0.0)
    if season.work is None:
        raise season.refusal
    job = ask_for(WORK, actor, sheet.pk, {"seconds": time_for_it, "hold_on": hold_on}, max(1, round(time_for_it * 10)))
    ask.note(job, after={"seconds": time_for_it, "hold_on": hold_on, "what_if": what_if, **more.get("after", {})})
    return job


def _made(actor: Person, sheet: KeptSheet, made: SeasonPlanned, job: Job | None) -> SeasonPlan:
    return SeasonPlan.objects.create(
        sheet=sheet, job=job, on=made.now.today, placements=[as_data(one) for one in made.placed],
        cost=made.plan.cost, bound=made.plan.bound, seconds=made.plan.seconds, made_by=actor, made_at=now(),
    )  # fmt: skip


def _keep(made: SeasonPlan) -> SeasonPlan:
    others = SeasonPlan.objects.filter(sheet__what_if=made.sheet.what_if, ended_at=None).exclude(kept_at=None)
    others.update(ended_at=now())
    made.kept_at, made.ended_at = now(), None
    made.save()
    return made


def _kept(actor: Person, sheet: SeasonSheet, what_if: str) -> tuple[KeptSheet, dict[str, Any]]:
    """Keep a sheet in the place of the one before, and return it with the tables before."""
    old = _sheet_called(what_if)
    if old is not None:
        old.ended_at = now()
        old.save()
    made = KeptSheet.objects.create(what_if=what_if, tables=as_tables(sheet), made_by=actor, made_at=now())
    return made, {} if old is None else old.tables


def _sheet_called(what_if: str) -> KeptSheet | None:
    found = KeptSheet.objects.select_for_update().filter(what_if=what_if, ended_at=None).first()
    if found is None and what_if:
        known = AsTyped(", ".join(one.what_if for one in on_file.what_ifs()))
        text = phrase("there is no what-if '{name}'", name=AsTyped(what_if))
        raise refuse("what_if", text, value=what_if, allowed=known)
    return found


def _tables(what_if: str) -> dict[str, Any]:
    sheet = _sheet_called(what_if)
    return {} if sheet is None else dict(sheet.tables)


def _rows(tables: Mapping[str, Any], part: str) -> list[dict[str, Any]]:
    if part not in LISTS:
        text = phrase("the season sheet has no list '{part}'", part=AsTyped(part))
        raise refuse("part", text, value=part, allowed=", ".join((*LISTS, *TABLES)))
    return [dict(row) for row in tables.get(part, ())]


def _row(rows: list[dict[str, Any]], part: str, which: int) -> int:
    if not 0 <= which < len(rows):
        allowed = phrase("{low:g} to {high:g}", low=0, high=len(rows) - 1) if rows else phrase("none, it is empty")
        told = phrase("there is no row {which} in '{part}'", which=which, part=AsTyped(part))
        raise refuse("which", told, value=str(which), allowed=allowed)
    return which


def _without_none(tables: Mapping[str, Any]) -> dict[str, Any]:
    """Return tables without entries that were emptied."""
    made: dict[str, Any] = {}
    for name, content in tables.items():
        if isinstance(content, dict):
            made[name] = {key: value for key, value in content.items() if value is not None}
        elif isinstance(content, list):
            made[name] = [{key: value for key, value in row.items() if value is not None} for row in content]
        elif content is not None:
            made[name] = content
    return made


def _changed(one: Mapping[str, Any], other: Mapping[str, Any]) -> dict[str, Any]:
    return {name: content for name, content in one.items() if other.get(name) != content}


def _checked_move(season: SeasonNow, job: str, day: datetime.date) -> None:
    there = season.needed
    if job not in {one.unit for one in there.season.jobs}:
        text = phrase("there is no job '{job}' in this season", job=AsTyped(job))
        raise refuse("job", text, value=job)
    last = there.date(there.season.days - 1)
    if not there.start <= day <= last:
        allowed = phrase("{first} to {last}", first=dated(there.start), last=dated(last))
        raise refuse("on", phrase("{day} lies outside the season", day=dated(day)), value=str(day), allowed=allowed)


def _day_of(plan: SeasonPlan | None, job: str) -> dict[str, Any] | None:
    found = () if plan is None else map(from_data, plan.placements)
    return next(({"job": job, "on": str(one.on)} for one in found if one.job == job), None)
