"""Clip and ribs: speeds typed, clip and its chart; a pitch measured, what makes it; the strip a reel leaves."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from django.urls import reverse
from django.views.decorators.http import require_safe

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.papers.bench_pictures import turf_pictures
from sparkout.reckoning.on_turf import NEEDED, TurfFigures, on_turf
from sparkout.records.models import Fitting
from sparkout.records.operations.doing import today
from sparkout.telling.on_turf import on_turf_sections
from sparkout.visit.asked import Quantity, a_length, a_number, a_share
from sparkout.visit.fields import declared
from sparkout.visit.sections import HeightSection, MowingSection, ReelSection
from sparkout.visit.words import Text, Word
from sparkout.web.shell.form import Field, Group, as_shown
from sparkout.web.shell.kept import kept_page
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.stand.live import Live, Told, answer, asked
from sparkout.web.stand.stance import machine_of, subject
from sparkout.web.visit.reckoned import reckoned
from sparkout.web.workshop.sections import fields_of

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from sparkout.core.reel.state import ReelState
    from sparkout.records.models import Unit, Visit
    from sparkout.showing import Showing


def _turns(meaning: str, example: str = "1500 1/min") -> Quantity:
    return Quantity(meaning, example, "rotation", 10.0, 50000.0, "1/min")


def _torque(example: str) -> Quantity:
    return Quantity("", example, "torque", 0.0, 1000.0, "N m")


def _travel(meaning: str) -> Quantity:
    return Quantity(meaning, "5 km/h", "speed", 0.1, 40.0, "km/h")


GROUPS = (
    Group(
        phrase("The machine at work"),
        (
            *fields_of(ReelSection, ("blades",)),
            *fields_of(MowingSection, ("travel_speed",)),
            Field("drive", phrase("How the reel is driven"), Word("", "counted", tuple(NEEDED))),
            *fields_of(MowingSection, ("reel_speed",)),
            Field(
                "wanted_clip", phrase("Clip wanted"), a_length(0.2, 200, phrase("to be told the speeds for it"), "5 mm")
            ),
        ),
    ),
    Group(
        phrase("By belt"),
        (
            Field("engine_speed", phrase("Engine speed"), _turns("", "3000 1/min")),
            Field(
                "driving_pulley", phrase("Driving pulley"), a_length(10, 1000, phrase("where the belt runs"), "60 mm")
            ),
            Field(
                "driven_pulley", phrase("Driven pulley"), a_length(10, 1000, phrase("where the belt runs"), "110 mm")
            ),
            Field("belt_slip", phrase("Belt slip"), a_share(0, 0.5, "", "2 %")),
        ),
        folded=True,
    ),
    Group(
        phrase("By hydraulic motor"),
        (
            Field("flow", phrase("Oil flow"), Quantity("", "18 L/min", "flow", 0.1, 500.0, "L/min")),
            Field("displacement", phrase("Oil for one turn"), Quantity("", "10 cm³", "volume", 0.5, 1000.0, "cm³")),
            Field("efficiency", phrase("Share of the oil that turns it"), a_share(0.2, 1, "", "92 %")),
        ),
        folded=True,
    ),
    Group(
        phrase("By electric motor"),
        (
            Field("no_load_speed", phrase("Speed without load"), _turns("", "2100 1/min")),
            Field("stall_torque", phrase("Torque at which it stands still"), _torque("9 N m")),
            Field("reel_torque", phrase("Torque at the reel"), _torque("1.5 N m")),
        ),
        folded=True,
    ),
    Group(
        phrase("From the roller"),
        (
            Field(
                "driving_roller", phrase("Driving roller's diameter"), a_length(20, 1500, phrase("as worn"), "190 mm")
            ),
            Field("ratio", phrase("Reel turns for one turn of the roller"), a_number(0.1, 100, "", "6.5")),
            Field("slip", phrase("Slip"), a_share(-0.5, 0.9, phrase("skid positive"), "5 %")),
        ),
        folded=True,
    ),
    Group(
        phrase("Height, your own band, growth"),
        (
            *fields_of(HeightSection, ("of_cut",)),
            Field("finest_share", phrase("Finest clip, as a share of the height"), a_share(0.05, 10, "", "80 %")),
            Field("coarsest_share", phrase("Coarsest clip, as a share of the height"), a_share(0.05, 10, "", "120 %")),
            Field("origin", phrase("Whose band it is"), Text("", "house", 100)),
            Field("growth", phrase("Growth"), Quantity("", "1 mm/day", "growth", 0.01, 200.0, "mm/day")),
            Field("interval", phrase("Time between cuts"), Quantity("", "2 day", "time", 0.01, 365.0, "day")),
        ),
    ),
    Group(
        phrase("Ribs on the turf"),
        (
            Field("pitch", phrase("From rib to rib"), a_length(0.5, 20000, phrase("over many of them"), "49 mm")),
            Field("pitch_uncertainty", phrase("Known to (standard uncertainty)"), a_length(0.01, 500, "", "0.7 mm")),
            Field("front_roller", phrase("Front roller diameter"), a_length(10, 600, phrase("as it is"), "63 mm")),
            Field("rear_roller", phrase("Rear roller diameter"), a_length(10, 600, phrase("as it is"), "50 mm")),
            Field("bounce", phrase("Bobs in a second"), Quantity("", "3 Hz", "frequency", 0.2, 50.0, "Hz")),
            Field("slowest", phrase("Slowest travel possible"), _travel("")),
            Field("fastest", phrase("Fastest travel possible"), _travel("")),
            Field("speed_uncertainty", phrase("Speeds may be off by"), a_share(0, 0.5, "", "2 %")),
        ),
    ),
    Group(
        phrase("The strip drawn"),
        (
            Field("standing_grass", phrase("Grass stands before the cut"), a_length(1, 500, "", "9 mm")),
            Field("reel_diameter", phrase("Reel diameter now"), a_length(40, 600, "", "125 mm")),
            *fields_of(ReelSection, ("helix",)),
            Field("low_blade", phrase("One blade lower by"), a_length(0, 5, "", "0.2 mm")),
            Field(
                "bobbing", phrase("Height bobs by"), a_length(0, 50, phrase("up and down from the middle"), "0.5 mm")
            ),
        ),
    ),
)
EXAMPLE = {
    "blades": "11", "travel_speed": "4.5 km/h", "drive": "counted", "reel_speed": "1500 1/min", "wanted_clip": "4 mm",
    "of_cut": "4 mm", "finest_share": "80 %", "coarsest_share": "120 %", "origin": "house", "growth": "1 mm/day",
    "interval": "2 day", "pitch": "49 mm", "pitch_uncertainty": "0.7 mm", "front_roller": "63 mm",
    "rear_roller": "50 mm", "standing_grass": "9 mm", "reel_diameter": "125 mm", "helix": "20 deg",
    "low_blade": "0.2 mm",
}  # fmt: skip
"""Invented."""


def _tell(values: dict[str, Any], showing: Showing, state: ReelState | None = None) -> Told:
    given = TurfFigures(**values)
    if given.missing:
        return Told(given.missing)
    found = on_turf(given, state)
    return Told((), on_turf_sections(found, showing), turf_pictures(found, showing))


PAGE = Live(
    "clip",
    phrase("Clip and ribs"),
    phrase("How far a machine travels from one blade to the next, and what makes the ribs it leaves on the turf."),
    _tell,
    {"blade_count": "blades", "volumetric_efficiency": "efficiency", "reel_turns_per_roller_turn": "ratio",
     "roller_diameter": "driving_roller", "least_share": "finest_share", "most_share": "coarsest_share"},
)  # fmt: skip


@somebody
@require_safe
@kept_page
def clip(request: HttpRequest) -> HttpResponse:
    """The page; with what is on file of a unit or a visit where its address names one."""
    showing = reader_of(request).showing
    unit, visit, kept = subject(request)
    start = {} if unit is None else figures_on_file(unit)
    last = visit if visit is not None or unit is None else unit.visits.order_by("-pk").first()
    state = None if last is None else _state(last)
    made = asked(request, replace(PAGE, tell=partial(_tell, state=state)), GROUPS, start, kept, showing)
    return answer(
        request,
        PAGE,
        made,
        reverse("clip"),
        unit=unit,
        visit=visit,
        of=f"?{urlencode(kept)}" if kept else "",
        of_machine=machine_of(unit),
        example="" if unit else f"?{urlencode(EXAMPLE)}",
    )


def figures_on_file(unit: Unit) -> dict[str, str]:
    """Return what the records know of a unit at work, as it stands in the boxes."""
    fitted = Fitting.objects.filter(unit=unit, until=None, reel__isnull=False).select_related("reel__type").first()
    spec = {} if fitted is None or fitted.reel is None else {**fitted.reel.type.spec, **fitted.reel.spec}
    start = {}
    for box, name, section, table in (
        ("blades", "blades", ReelSection, spec),
        ("helix", "helix", ReelSection, spec),
        ("reel_diameter", "diameter", ReelSection, spec),
        ("travel_speed", "travel_speed", MowingSection, unit.mowing),
        ("reel_speed", "reel_speed", MowingSection, unit.mowing),
        ("of_cut", "of_cut", HeightSection, unit.height),
        ("front_roller", "front_roller_diameter", HeightSection, unit.height),
        ("rear_roller", "rear_roller_diameter", HeightSection, unit.height),
    ):
        if table.get(name) is not None:
            start[box] = as_shown(table[name], declared(section, name))
    return start


def _state(visit: Visit) -> ReelState | None:
    try:
        found = reckoned(visit, today()).answer
    except Refusal:  # its own page says why
        return None
    if isinstance(found, str) or not found.diagnosis.state.observations:
        return None
    return found.diagnosis.state
