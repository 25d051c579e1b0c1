"""The plan that is kept, the one that is being made, and the one that waits to be looked at, in words."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sparkout.core.days import dated
from sparkout.core.phrase import AsTyped, Phrase, counted, joined, phrase, thawed
from sparkout.papers.season_pictures import standing_of
from sparkout.records.models import Job
from sparkout.records.operations.season import WORK
from sparkout.records.season import kept_sheet, last_plan, placements
from sparkout.season.placing import Tally, tally
from sparkout.season.work import why_not_on
from sparkout.web.season.seen import made_once
from sparkout.web.season.taken import files

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sparkout.records.models import SeasonPlan
    from sparkout.season.placing import Placed
    from sparkout.showing import Showing
    from sparkout.web.season.seen import Seen

SECONDS = 20
_MOST_CHANGES = 60


@dataclass(frozen=True, slots=True)
class Offered:
    """A plan that was made and is not kept."""

    pk: int
    lines: list[str]
    changes: list[str]
    key: str


def job_of(what_if: str) -> Job | None:
    """Return the work in the background that was asked for last of a sheet's plan."""
    sheet_pks = _sheets(what_if)
    return Job.objects.filter(kind=WORK, about__in=sheet_pks).order_by("-pk").first()


def _sheets(what_if: str) -> list[int]:
    from sparkout.records.models import KeptSheet

    return list(KeptSheet.objects.filter(what_if=what_if).values_list("pk", flat=True))


def state(seen: Seen, what_if: str, showing: Showing) -> dict[str, Any]:
    """Return what the pages say about the plan."""
    job, kept = job_of(what_if), seen.kept
    last = last_plan(what_if)
    say = showing.say
    made: dict[str, Any] = {
        "lines": [],
        "trouble": [],
        "going": job is not None and job.is_going_on,
        "may_plan": seen.now.work is not None,
        "key": uuid.uuid4(),
        "seconds": SECONDS,
        "offered": None,
        "late": [],
        "of": what_if,
    }
    if seen.now.work is None:
        made["trouble"].append(say(seen.now.trouble))
    else:
        made["trouble"] += [say(note) for note in seen.now.work.notes]
    if seen.plan is not None and kept is not None:
        made["lines"] += [say(text) for text in _lines(seen, kept, what_if)]
        made["exports"] = files(showing)
        late = seen.plan.late
        made["late"] = made_once(
            ("late", what_if, showing), lambda: [(one.job, say(standing_of(one)), say(one.why)) for one in late]
        )
        made["moved"] = made_once(("moved", what_if, showing), lambda: _moved(seen, showing))
    if job is not None and job.state == "failed":
        made["trouble"].append(say(job.message))
    if last is not None and last.kept_at is None and not made["going"] and (kept is None or last.pk > kept.pk):
        made["offered"] = offered(seen, last, showing)
    if made["going"] and job is not None:
        made["progress"] = progress(job, showing)
    return made


def _moved(seen: Seen, showing: Showing) -> list[str]:
    """Return the jobs that do not stand where the kept plan had them, with why."""
    assert seen.plan is not None
    work = seen.plan.now.needed
    jobs = {job.unit: job for job in work.season.jobs}
    now = {one.job: one for one in seen.plan.placed}
    found = []
    for one in placements(seen.kept, seen.units):
        there = now.get(one.job)
        if one.on is not None and there is not None and there.on != one.on:
            told = phrase(
                "{job}: {was} → {becomes}; {why}", job=AsTyped(one.job), was=_day(one), becomes=_day(there),
                why=why_not_on(work, jobs[one.job], (one.on - work.start).days),
            )  # fmt: skip
            found.append(showing.say(told))
    return found


def _lines(seen: Seen, kept: SeasonPlan, what_if: str) -> list[str]:
    assert seen.plan is not None
    lines: list[str] = [
        phrase(
            "Kept {when} by {who}: {counts}.",
            when=dated(kept.kept_at.date()) if kept.kept_at else "–",
            who=AsTyped(kept.made_by),
            counts=_counts(tally(seen.plan.placed)),
        )
    ]
    lines.append(_gap(seen.plan.plan.cost, seen.plan.plan.bound))
    sheet = kept_sheet(what_if)
    if sheet is not None and sheet.pk != kept.sheet_id:
        lines.append(phrase("The season sheet has changed since: plan again to see what that does."))
    return lines


def _counts(told: Tally) -> Phrase:
    """Return how many jobs there are, and how many of them are late or left undone."""
    parts = [counted(told.jobs, "{n} job", "{n} jobs")]
    if not told.late and not told.undone:
        parts.append(phrase("none late"))
    if told.late:
        parts.append(counted(told.late, "{n} late", "{n} late"))
    if told.undone:
        parts.append(counted(told.undone, "{n} left undone", "{n} left undone"))
    return joined(", ", parts)


def _gap(cost: float, bound: float) -> Phrase:
    if cost <= 1e-9 or cost - bound <= 1e-6 * cost:
        return phrase("It costs {cost:.0f} in lateness, overtime and life wasted: proven to be the least.", cost=cost)
    if bound <= 0.0:
        return phrase(
            "It costs {cost:.0f} in lateness, overtime and life wasted; how good a plan can be is not proven yet.",
            cost=cost,
        )
    return phrase(
        "It costs {cost:.0f} in lateness, overtime and life wasted; no plan can cost less than {bound:.0f}: "
        "at most {gap:.1%} could be saved.",
        cost=cost,
        bound=bound,
        gap=(cost - bound) / cost,
    )


def progress(job: Job, showing: Showing) -> dict[str, Any]:
    """Return how far the plan is: seconds, the best so far, how good any could be."""
    told, lines = job.told or {}, []
    if told:
        lines.append(showing.say(_gap(told["cost"], told["bound"])))
        doing = told.get("doing")
        if doing:
            lines.append(showing.say(thawed(doing)))
    best = told.get("best")
    if best:
        counts = _counts(Tally(len(best["days"]), best["late"], 0, best["undone"], 0.0))
        lines.append(
            showing.say(
                phrase(
                    "Best plan so far, after {seconds:.0f} s: {counts}; it costs {cost:.0f}.",
                    seconds=best["seconds"],
                    counts=counts,
                    cost=best["cost"],
                )
            )
        )
    return {"done": job.done, "of": job.of, "lines": lines, "best": bool(best)}


def offered(seen: Seen, plan: SeasonPlan, showing: Showing) -> Offered:
    """Return a plan to look at, with what it changes of the one kept."""
    say = showing.say
    now = placements(plan, seen.units)
    lines = [
        say(phrase("{counts}.", counts=_counts(tally(now)))),
        say(_gap(plan.cost, plan.bound)),
    ]
    changes: list[str] = []
    if seen.plan is not None:
        changes = [say(text) for text in changed(placements(seen.kept, seen.units), now)]
        if not changes:
            lines.append(say(phrase("Every job stays on its day.")))
    return Offered(plan.pk, lines, changes[:_MOST_CHANGES], str(uuid.uuid4()))


def changed(before: Sequence[Placed], after: Sequence[Placed]) -> list[Phrase]:
    """Return what is on another day in a plan than in the one before, job by job."""
    was = {one.job: one for one in before}
    found = []
    for one in after:
        old = was.get(one.job)
        if old is None:
            found.append(phrase("{job}: new, {day}", job=AsTyped(one.job), day=_day(one)))
        elif old.on != one.on:
            found.append(
                phrase(
                    "{job}: {was} → {becomes}; {standing}",
                    job=AsTyped(one.job),
                    was=_day(old),
                    becomes=_day(one),
                    standing=standing_of(one),
                )
            )
    return found


def _day(one: Placed) -> str:
    return phrase("left undone") if one.on is None else dated(one.on)
