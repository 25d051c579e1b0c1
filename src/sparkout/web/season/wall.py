"""The plan on the wall: jobs on their days, moved by hand with what the move costs, kept or let go."""

from __future__ import annotations

import datetime
import uuid
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from sparkout.core.days import with_weekday
from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.drawing.wall import days_across
from sparkout.papers.season_pictures import WIDE, season_wall_and_names, standing_of
from sparkout.records.operations.season import move_job, release_job, what_a_move_costs
from sparkout.records.season import best_so_far
from sparkout.telling.season import PHASE_WORDS
from sparkout.web.season.seen import made_once, seen_now
from sparkout.web.season.state import changed, job_of, progress, state
from sparkout.web.shell.pages import page, refused, text_of
from sparkout.web.shell.reader import reader_of, somebody

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.season.now import SeasonPlanned
    from sparkout.season.placing import Placed
    from sparkout.showing import Showing
    from sparkout.web.season.seen import Seen

SPAN = 84
"""Days on the wall at once: twelve weeks."""
DOWN = (("units", phrase("Units down")), ("machines", phrase("Machines down")))
_MOST = 6
"""Other jobs that give way are told up to so many."""
_PARTS = (
    ("late", phrase("lateness")),
    ("early", phrase("life wasted by grinding early")),
    ("overtime", phrase("overtime")),
    ("undone", phrase("left undone")),
)


@somebody
@require_safe
def wall(request: HttpRequest) -> HttpResponse:
    """The whole wall; with a job and a day in the address, what moving it there would cost."""
    if request.GET.get("best") == "so-far":
        return _so_far(request, seen_now())
    return _wall(request, seen_now())


def _so_far(request: HttpRequest, seen: Seen) -> HttpResponse:
    """The best plan so far of the one that is being made; when it has ended, the wall."""
    job, showing = job_of(""), reader_of(request).showing
    plan = best_so_far(seen.now, job)
    if plan is None or job is None:
        return redirect(f"{reverse('season-wall')}#plan")
    changes = () if seen.plan is None else changed(seen.plan.placed, plan.placed)
    context = {
        "lines": progress(job, showing)["lines"],
        "picture": _both(season_wall_and_names(plan, showing, days=SPAN)),
        "changes": [showing.say(text) for text in changes],
        "weeks": _weeks(plan, showing),
    }
    return page(request, "season/so_far.html", context)


def _wall(request: HttpRequest, seen: Seen, move: dict[str, Any] | None = None, status: int = 200) -> HttpResponse:
    showing = reader_of(request).showing
    machines = request.GET.get("down") == "machines"
    context: dict[str, Any] = {
        "seen": seen,
        "state": state(seen, "", showing),
        "done": request.GET.get("done", ""),
        "down": "machines" if machines else "units",
        "move": move,
    }
    if seen.plan is not None:
        context |= _drawn(request, seen, showing, machines)
        context["move"] = move or _asked(request, seen, showing)
    return page(request, "season/wall.html", context, status)


def _drawn(request: HttpRequest, seen: Seen, showing: Showing, machines: bool) -> dict[str, Any]:
    assert seen.plan is not None
    plan, work = seen.plan, seen.plan.now.needed
    first = _first(request.GET.get("from", ""), work.season.days)
    days = min(SPAN, work.season.days - first)

    def draw() -> SafeString:
        def href(job: str) -> str:
            return f"?{urlencode({'job': job})}#move"

        return _both(season_wall_and_names(plan, showing, first=first, days=days, machines=machines, href=href))

    def list_weeks() -> SafeString:
        return mark_safe(text_of(request, "season/by_week.html", {"weeks": _weeks(plan, showing)}))

    return {
        "picture": made_once(("wall", showing, first, machines), draw),
        "weeks_told": made_once(("weeks", showing), list_weeks),
        "names": [job.unit for job in work.season.jobs],
        "chosen_job": request.GET.get("job", ""),
        "chosen_on": request.GET.get("on", ""),
        "start": work.start.isoformat(),
        "end": work.date(work.season.days - 1).isoformat(),
        "first": first,
        "last": first + days - 1,
        "wide": days_across(WIDE, days)[1],
        "downs": [(value, showing.say(words), (value == "machines") is machines) for value, words in DOWN],
        "stretches": _stretches(plan, first, showing),
        "by_hand": [
            (one.job, showing.say(with_weekday(one.on) if one.on else phrase("left undone")))
            for one in plan.placed
            if one.by_hand
        ],
        "key": uuid.uuid4(),
        "whose": list(plan.weeks[0].there),
        "today": seen.today.isoformat(),
    }


def _both(drawn: tuple[str, str]) -> SafeString:
    """Return the wall and, over it, the names that stay in sight while it scrolls."""
    wall, names = drawn
    return mark_safe(f'<div class="stay">{wall}{names}</div>')


def _first(text: str, days: int) -> int:
    """Return the first day shown: a whole stretch of those there are."""
    first = int(text) if text.isascii() and text.isdecimal() and len(text) < 5 else 0
    return first - first % SPAN if first < days else 0


def _stretches(plan: SeasonPlanned, first: int, showing: Showing) -> list[tuple[int, str, bool]]:
    work = plan.now.needed
    found = range(0, work.season.days, SPAN)
    return (
        [(a, showing.say(phrase("from {day}", day=with_weekday(work.date(a)))), a == first) for a in found]
        if len(found) > 1
        else []
    )


def _weeks(plan: SeasonPlanned, showing: Showing) -> list[tuple[str, list[tuple[str, ...]]]]:
    """Return the jobs of each week that has any, then those left undone."""
    firsts = [week.first for week in plan.weeks]
    works = {
        job.unit: ", ".join(showing.say(PHASE_WORDS[phase.skill]) for phase in job.phases)
        for job in plan.now.needed.season.jobs
    }
    found: dict[datetime.date | None, list[tuple[str, ...]]] = {}
    for one in plan.placed:
        week = None if one.on is None else max(first for first in firsts if first <= one.on)
        found.setdefault(week, []).append(
            (
                one.job,
                "" if one.on is None else showing.say(with_weekday(one.on)),
                works[one.job],
                "bad" if one.is_late else "good",
                showing.say(standing_of(one)),
                urlencode({"job": one.job, **({"on": one.on.isoformat()} if one.on else {})}),
            )
        )
    return [(showing.say(with_weekday(week)) if week else "–", jobs) for week, jobs in found.items()]


def _asked(request: HttpRequest, seen: Seen, showing: Showing) -> dict[str, Any] | None:
    job, on = request.GET.get("job", ""), request.GET.get("on", "")
    return moving(seen, job, on, showing) if job and on else None


@somebody
@require_http_methods(["GET", "POST"])
def move(request: HttpRequest) -> HttpResponse:
    """Tell what a move would cost (GET), or keep it (POST)."""
    seen, reader = seen_now(), reader_of(request)
    if request.method == "GET":
        if seen.plan is None:
            return refused(request, reader.showing.say(phrase("There is no plan yet.")))
        told = moving(seen, request.GET.get("job", ""), request.GET.get("on", ""), reader.showing)
        if "HX-Request" in request.headers:
            return page(request, "season/move.html", {"move": told})
        return _wall(request, seen, told)
    job, on = request.POST.get("job", ""), request.POST.get("on", "")
    try:
        move_job(actor=reader.actor, job=job, on=on, key=request.POST.get("key") or None)
    except Refusal as refusal:
        return refused(request, reader.showing.say(refusal.words))
    return redirect(f"{reverse('season-wall')}?{urlencode({'done': 'kept', 'job': job})}")


def moving(seen: Seen, job: str, on: str, showing: Showing) -> dict[str, Any]:
    """Return what is told of a move before it is kept."""
    assert seen.plan is not None
    assert seen.kept is not None
    say = showing.say
    try:
        after = what_a_move_costs(seen.now, seen.units, seen.kept, job, on)
    except Refusal as refusal:
        return {"trouble": say(refusal.words), "job": job}
    before_one, after_one = _one(seen.plan, job), _one(after, job)
    assert after_one.on is not None
    same = before_one.on == after_one.on
    rows = [(say(words), getattr(seen.plan.parts, name), getattr(after.parts, name)) for name, words in _PARTS]
    rows.append((say(phrase("together")), sum(row[1] for row in rows), sum(row[2] for row in rows)))
    over = after_one.over
    lines = [say(phrase("That day runs {hours:.1f} h past the hours there are.", hours=over))] if over > 0.05 else []
    others = [one for one in after.placed if one.job != job]
    lines += [say(phrase("With it: {change}.", change=change)) for change in changed(seen.plan.placed, others)[:_MOST]]
    if before_one.is_late and before_one.why:
        lines.append(say(before_one.why))
    return {
        "job": job,
        "on": after_one.on.isoformat(),
        "day": (after_one.on - seen.now.needed.start).days,
        "was": "" if same or before_one.on is None else say(with_weekday(before_one.on)),
        "to": say(with_weekday(after_one.on)),
        "mark": "bad" if after_one.is_late else "good",
        "standing": say(standing_of(after_one)),
        "instead": "" if same else say(standing_of(before_one)),
        "same": same,
        "parts": [(words, _money(a, showing), _money(b, showing), _more(b - a, showing)) for words, a, b in rows],
        "lines": lines,
        "key": uuid.uuid4(),
    }


def _one(plan: SeasonPlanned, job: str) -> Placed:
    return next(one for one in plan.placed if one.job == job)


def _money(value: float, showing: Showing) -> str:
    return showing.figure(value, 0)


def _more(value: float, showing: Showing) -> str:
    return f"+{showing.figure(value, 0)}" if value >= 0.5 else showing.figure(value, 0) if value <= -0.5 else "0"


@somebody
@require_POST
def release(request: HttpRequest) -> HttpResponse:
    """Let plans choose a job's day again."""
    reader, job = reader_of(request), request.POST.get("job", "")
    try:
        release_job(actor=reader.actor, job=job, key=request.POST.get("key") or None)
    except Refusal as refusal:
        return refused(request, reader.showing.say(refusal.words))
    return redirect(f"{reverse('season-wall')}?{urlencode({'done': 'released', 'job': job})}")
