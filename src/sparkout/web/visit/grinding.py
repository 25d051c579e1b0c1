"""The grinding part for the bench: which pass is on, what comes next, what is off so far."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sparkout.core.phrase import phrase
from sparkout.reckoning.answer import Untold
from sparkout.records.models import WorkDone

if TYPE_CHECKING:
    from sparkout.web.visit.bench import Bench


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


def done_passes(bench: Bench) -> int:
    """Return how many passes of the spin grind are on file."""
    return sum(len(work.infeeds or ()) for work in bench.file.work if work.step == "spin grind")


def passes_at_the_bench(bench: Bench) -> tuple[PassAtTheBench, ...]:
    """Return every pass of the plan; none when there is no plan."""
    if bench.answer is None or isinstance(bench.answer.spin, Untold):
        return ()
    plan, showing = bench.answer.spin.plan, bench.showing
    done = done_passes(bench)
    told = [showing.length(p.infeed) if p.infeed > 0 else "no infeed" for p in plan.passes]
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


def standing_grind(bench: Bench) -> WorkDone | None:
    """Return the spin grind on file that stands: the last one entered."""
    found = WorkDone.objects.filter(visit=bench.visit, withdrawn_at=None, replaced_by=None).order_by("pk")
    return next((work for work in reversed(found) if work.entry["step"] == "spin grind"), None)
