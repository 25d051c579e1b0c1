"""The grinding part for the bench: which pass is on, what comes next, what is off so far."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sparkout.core.phrase import AsTyped, phrase
from sparkout.reckoning.answer import Untold
from sparkout.records.models import Authorisation, Person, WorkDone
from sparkout.records.operations.care import may
from sparkout.records.operations.doing import today
from sparkout.records.operations.job import correct_work, record_work, withdraw_work

if TYPE_CHECKING:
    import uuid
    from collections.abc import Mapping

    from sparkout.web.visit.bench import Bench

_OF_A_GRIND = ("mount wheels", "grind")


@dataclass(frozen=True, slots=True)
class PassAtTheBench:
    """One pass as it is read from two steps away."""

    number: int
    of: int
    kind: str
    figure: str
    unit: str
    total: str
    following: str
    time: str
    typed: str
    """The infeed as it is filed when the pass is ticked."""
    current: bool


def lapsed(bench: Bench) -> tuple[str, ...]:
    """Return which work of the grind the visit's technician may not do by what is on file; it advises only.

    Nothing for work of which the workshop keeps no authorisations, or when no person of that name is on file.
    """
    person = Person.objects.filter(name=bench.visit.technician).first() if bench.visit.technician else None
    if person is None:
        return ()
    kept = set(Authorisation.objects.filter(ended_at=None, work__in=_OF_A_GRIND).values_list("work", flat=True))
    told = []
    for work in (name for name in _OF_A_GRIND if name in kept):
        found = may(person, work, today())
        if not found.may:
            told.append(
                phrase("{person}, {work}: {why}.", person=AsTyped(person.name), work=phrase(work), why=found.why)
            )
    return tuple(bench.showing.say(text) for text in told)


def done_passes(bench: Bench) -> int:
    """Return how many passes of the spin grind are on file."""
    return sum(len(work.infeeds or ()) for work in bench.file.work if work.step == "spin grind")


def passes_at_the_bench(bench: Bench) -> tuple[PassAtTheBench, ...]:
    """Return every pass of the plan; none when there is no plan."""
    if bench.found is None or isinstance(bench.found.spin, Untold):
        return ()
    plan, showing = bench.found.spin.plan, bench.showing
    done = done_passes(bench)
    told = [showing.length(p.infeed) if p.infeed > 0 else showing.say(phrase("no infeed")) for p in plan.passes]
    found = []
    for i, p in enumerate(plan.passes):
        figure, _, unit = showing.length(p.infeed).rpartition(" ") if p.infeed > 0 else ("0", "", "")
        found.append(
            PassAtTheBench(
                i + 1,
                len(plan.passes),
                p.kind,
                figure,
                unit,
                showing.length(p.dial_total),
                told[i + 1] if i + 1 < len(told) else phrase("none: the grind is done"),
                showing.duration(p.time),
                f"{p.infeed:.4f} mm",
                i == done,
            )
        )
    return tuple(found)


def tick(actor: Person, bench: Bench, sent: Mapping[str, str], key: uuid.UUID) -> None:
    """Tick the pass after those done, or take the last one back; what was done before is not done again.

    Raises
    ------
    Conflict
        When somebody else ticked meanwhile.
    Refusal
        When it cannot be entered.
    """
    work = standing_grind(bench)
    done = [] if work is None else list(work.entry.get("infeeds", ()))
    this, back = (int(sent.get(name, "")) if sent.get(name, "").isdigit() else 0 for name in ("pass", "back"))
    if work is not None and back and back == len(done):
        if back == 1:
            withdraw_work(actor=actor, work=work, expected_version=work.version, key=key)
        else:
            correct_work(actor=actor, work=work, expected_version=work.version, key=key, infeeds=done[:-1])
    elif this and this == len(done) + 1:
        infeeds = [*done, sent.get("infeed", "")]
        if work is None:
            told = {"step": "spin grind", "what": "pass by pass", "infeeds": infeeds, "by": actor.name}
            record_work(actor=actor, visit=bench.visit, key=key, **told)
        else:
            correct_work(actor=actor, work=work, expected_version=work.version, key=key, infeeds=infeeds)


def standing_grind(bench: Bench) -> WorkDone | None:
    """Return the spin grind on file that stands: the last one entered."""
    found = WorkDone.objects.filter(visit=bench.visit, withdrawn_at=None, replaced_by=None).order_by("pk")
    return next((work for work in reversed(found) if work.entry["step"] == "spin grind"), None)
