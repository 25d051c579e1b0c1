"""What first start offers besides names and units: gauges by kind, and limits with their origin."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sparkout.core.gauges.instrument import USUAL_REPEATABILITY, USUAL_REPEATABILITY_ORIGIN
from sparkout.core.phrase import phrase
from sparkout.demonstration.workshop import PRACTICE, limits
from sparkout.visit.asked import Depends
from sparkout.visit.problems import Problem, VisitProblems
from sparkout.visit.quantities import GAUGE_KINDS, GAUGE_MEANING, QUANTITIES, gauge_shows
from sparkout.web.shell.form import counted, without_place
from sparkout.web.workshop.sections import GaugeEntry, LimitEntry, fields_of

if TYPE_CHECKING:
    from django.http import QueryDict

    from sparkout.showing import Showing

FIGURES = ("resolution", "calibration_uncertainty", "calibration_due")
_TAKES = {
    entry.name: entry.takes
    for entry in (*fields_of(GaugeEntry, FIGURES), *fields_of(LimitEntry, ("at_most",)))
    if isinstance(entry.takes, Depends)
}


@dataclass(slots=True)
class Row:
    """One gauge or limit offered: ticked or not, what stands in its boxes, and what is wrong there."""

    name: str
    title: str
    about: str
    boxes: dict[str, str]
    ticked: bool = False
    wrong: dict[str, str] = field(default_factory=dict)
    prefix: str = "gauge"

    @property
    def slug(self) -> str:
        """Its name in the ids of the page."""
        return f"{self.prefix}-{re.sub('[^a-z]+', '-', self.name)}"

    def take(self, sent: QueryDict) -> None:
        """Take what was sent."""
        self.ticked = self.slug in sent
        for name in self.boxes:
            self.boxes[name] = sent.get(f"{self.slug}-{name}", "").strip()

    def said(self, showing: Showing) -> dict[str, Any]:
        """Return the boxes that say something, as forms read them: a bare number counts in mm, never in thou or inches.

        Raises
        ------
        VisitProblems
            Naming each box whose unit is missing.
        """
        found: dict[str, Any] = {}
        problems: list[Problem] = []
        for name, value in self.boxes.items():
            takes = _TAKES.get(name)
            try:
                found[name] = counted(name, takes, self.name, value, showing) if takes and value else value
            except VisitProblems as wrong:
                problems += wrong.problems
        if problems:
            raise VisitProblems(problems)
        return {name: value for name, value in found.items() if value}

    def refuse(self, problems: VisitProblems, showing: Showing) -> None:
        """Put what is wrong beside its box; what belongs to none, beside the first."""
        for problem in problems.problems:
            name = problem.path if problem.path in self.boxes else next(iter(self.boxes))
            self.wrong.setdefault(name, showing.say(without_place(problem)))


def gauges(showing: Showing) -> list[Row]:
    """Return a row for every kind of gauge, with what is taken where a figure is left empty."""
    made = []
    for kind in GAUGE_KINDS:
        shows = gauge_shows(kind)[0]
        usual = showing.quantity(USUAL_REPEATABILITY[kind], shows)
        about = phrase(
            "{meaning}. Repeatability is taken as {usual} ({origin}) until its own is entered",
            meaning=phrase(GAUGE_MEANING[kind]),
            usual=usual,
            origin=phrase(USUAL_REPEATABILITY_ORIGIN),
        )
        boxes = {"id": f"{showing.say(phrase(kind))} 1", **dict.fromkeys(FIGURES, "")}
        made.append(Row(kind, showing.say(phrase(kind)), showing.say(about), boxes))
    return made


def offered_limits(showing: Showing) -> list[Row]:
    """Return a row for every limit that common practice has a figure for; none holds unless it is ticked."""
    made = []
    for row in limits(""):
        if row["origin"] != PRACTICE:
            continue
        name = row["quantity"]
        boxes = {"at_most": showing.say(str(row["at_most"])), "origin": showing.say(phrase(PRACTICE))}
        about = phrase(
            "{meaning}; offered: at most {figure}, {origin}",
            meaning=phrase(QUANTITIES[name].meaning),
            figure=row["at_most"],
            origin=phrase(PRACTICE),
        )
        made.append(Row(name, showing.say(phrase(name)), showing.say(about), boxes, prefix="limit"))
    return made
