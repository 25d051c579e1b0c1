"""Every picture of an answer, drawn by the drawing room in one reader's words and units."""

from __future__ import annotations

from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from sparkout.core.measured import coverage_factor
from sparkout.core.stance.section import Point
from sparkout.core.stance.standing import ground_line
from sparkout.drawing.cone import RadiusReading, cone_drawn_out
from sparkout.drawing.explanations import explanation_bars
from sparkout.drawing.knife import knife_section
from sparkout.drawing.land import land_close_up
from sparkout.drawing.on_reel import knife_on_reel
from sparkout.drawing.paper import paper_grid
from sparkout.drawing.passes import DrawnPass, pass_chart
from sparkout.drawing.prediction import Compared, predicted_against_measured
from sparkout.drawing.stance import DrawnStance, unit_on_its_rollers
from sparkout.drawing.trade import trade_line
from sparkout.drawing.unrolled import unrolled_reel
from sparkout.drawing.words import WORDS
from sparkout.reckoning.answer import Untold
from sparkout.reckoning.given import Given
from sparkout.reckoning.knife import findings, section
from sparkout.reckoning.setting import sd_about_mean
from sparkout.telling.finding import explanation_words
from sparkout.telling.section import keeping
from sparkout.translation import translated

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping

    import numpy as np
    from numpy.typing import NDArray

    from sparkout.core.stance.unit import CuttingUnit, Stance
    from sparkout.drawing.manner import Manners
    from sparkout.reckoning.answer import Answer, Found
    from sparkout.showing import Showing

ON_A_PHONE = 450.0
"""Width of picture below which the height map has five stations, so that its figures can be read; else nine."""


def drawn_stations(width: float) -> int:
    """Return every how many of the answer's 41 stations are drawn."""
    return 10 if width < ON_A_PHONE else 5


def manners(showing: Showing, prefix: str, width: float = 390.0) -> Manners:
    """Return how pictures speak to this reader."""
    return {
        "words": _words(showing),
        "length": showing.length,
        "place": showing.place,
        "angle": lambda value: showing.quantity(value, "angle"),
        "share": showing.share,
        "unit": 1.0 if showing.system == "mm" else 25.4,
        "prefix": prefix,
        "width": width,
    }


@lru_cache(16)
def _words(showing: Showing) -> Mapping[str, str]:
    """Remembered: a page has many pictures, all in the same words."""
    # The two placeholders are words of the vocabulary themselves: hidden while the rest of the text is turned.
    told = {key: translated(text, showing.language) for key, text in WORDS.items()}
    hidden = {key: text.replace("{reel}", "{0}").replace("{knife}", "{1}") for key, text in told.items()}
    said = {key: showing.say(text).replace("{0}", "{reel}").replace("{1}", "{knife}") for key, text in hidden.items()}
    return MappingProxyType({**said, "reel": showing.say("reel"), "knife": showing.say("bedknife")})


def pictures(answer: Answer, showing: Showing, width: float = 390.0, without: Collection[str] = ()) -> dict[str, str]:
    """Return every picture this answer has something for, by name, as SVG text; `without` those named."""
    showing = keeping(answer, showing)
    made = {name: draw(answer, showing, width) for name, draw in _DRAWN.items() if name not in without}
    return {name: svg for name, svg in made.items() if svg} | _papers(answer, showing, width, without)


def picture(answer: Answer, showing: Showing, name: str, width: float = 390.0) -> str:
    """Return one picture of those `pictures` makes, but for the paper proofs; empty when there is nothing to draw."""
    return _DRAWN[name](answer, keeping(answer, showing), width)


def picture_of_found(found: Found, showing: Showing, name: str, width: float = 390.0) -> str:
    """Return one picture of those that need only the first part of an answer; the same as `picture`."""
    return OF_FOUND[name](found, keeping(found, showing), width)


def _papers(answer: Answer, showing: Showing, width: float, without: Collection[str]) -> dict[str, str]:
    made: dict[str, str] = {}
    for number, proof in enumerate(answer.proofs, 1):
        name = f"paper-{proof.when.replace(' ', '-')}"
        name += f"-{number}" if name in made else ""
        if name not in without:
            places = [showing.say(p.text) if p.distance is None else showing.place(p.distance) for p in proof.stations]
            made[name] = paper_grid(proof.outcomes, places, **manners(showing, name, width))
    return made


def _unrolled(answer: Found, showing: Showing, width: float) -> str:
    if not answer.diagnosis.state.observations:
        return ""
    found = answer.diagnosis
    step = drawn_stations(width)
    mean = float(found.heights.mean())
    readings = [
        (m.x, None if m.blade is None else m.blade - 1, showing.say(m.label))
        for m in answer.readings
        if m.x is not None and m.when == "as found" and m.of in ("diameter", "run-out", "rest gap")
    ]
    known = "blades" in found.informed
    return unrolled_reel(
        found.heights[:, ::step] - mean,
        found.stations[::step],
        answer.reel.length,
        readings=readings,
        lowest=(found.lowest.x, found.lowest.blade) if known else None,
        sd=_sd_about_mean(answer)[:, ::step],
        **manners(showing, "unrolled", width),
    )


def _sd_about_mean(answer: Found) -> NDArray[np.float64]:
    """Doubt of each height against the mean radius, which drops out of a map of differences."""
    return sd_about_mean(answer.diagnosis.heights_sd, answer.diagnosis)


def _cone(answer: Found, showing: Showing, width: float) -> str:
    if not answer.diagnosis.state.observations:
        return ""
    found = answer.diagnosis
    state = found.state
    stations = found.stations[:: drawn_stations(ON_A_PHONE)]
    mean = found.heights.mean(axis=0)[:: drawn_stations(ON_A_PHONE)]
    quantities = [state.quantity(state.diameter_row(float(x)) / 2.0).interval() for x in stations]
    spin = answer.spin
    k = coverage_factor(0.95)
    readings = [
        RadiusReading(m.x, m.measured.value / 2.0, k * m.measured.u / 2.0, showing.say(m.label))
        for m in answer.readings
        if m.of == "diameter" and m.when == "as found" and m.x is not None
    ]
    return cone_drawn_out(
        stations,
        mean,
        [low for low, _ in quantities],
        [high for _, high in quantities],
        finish_radius=None if isinstance(spin, Untold) else spin.plan.finish_radius.value,
        service_radius=None if isinstance(spin, Untold) else spin.service_diameter / 2.0,
        readings=readings,
        **manners(showing, "cone", width),
    )


def _explanations(answer: Found, showing: Showing, width: float) -> str:
    if not answer.diagnosis.state.observations:
        return ""
    shown = [e for e in answer.diagnosis.state.explanations if e.weight >= 0.01][:8]
    bars = [(showing.say(explanation_words(e)), min(e.weight, 1.0)) for e in shown]  # rounding may pass 1
    return explanation_bars(bars, **manners(showing, "explanations", width))


def _passes(answer: Found, showing: Showing, width: float) -> str:
    if isinstance(answer.spin, Untold):
        return ""
    drawn = [
        DrawnPass(str(p.number), p.infeed, min(p.touched, 1.0), p.largest_bite, p.dial_total, p.kind)
        for p in answer.spin.plan.passes
    ]
    return pass_chart(drawn, **manners(showing, "passes", width))


def _trade(answer: Found, showing: Showing, width: float) -> str:
    if isinstance(answer.spin, Untold):
        return ""
    plan, service = answer.spin.plan, answer.spin.service_diameter / 2.0
    return trade_line(
        plan.trade.uncleaned,
        plan.trade.finish_radius - service,
        chosen=(plan.uncleaned_share, plan.finish_radius.value - service),
        **manners(showing, "trade", width),
    )


def _land(answer: Answer, showing: Showing, width: float) -> str:
    """The blade tip where the land grows most."""
    if isinstance(answer.spin, Untold):
        return ""
    plan, reel = answer.spin.plan, answer.reel
    worst = max(range(3), key=lambda i: plan.land[i].after.value)
    relieved = not isinstance(answer.relief, Untold) and bool(answer.relief.due)
    after = min(plan.land[worst].after.value, reel.blade_thickness)
    if relieved and not isinstance(answer.relief, Untold):
        after = answer.relief.land_after
    radius = plan.finish_radius.value + plan.stock_by_end[worst].most
    return land_close_up(
        radius,
        min(plan.land[worst].before.value, reel.blade_thickness),
        after,
        reel.relief_angle,
        plan.stock_by_end[worst].most,
        reel.blade_thickness,
        relieved,
        **manners(showing, "land", width),
    )


def _knife(answer: Answer, showing: Showing, width: float) -> str:
    if isinstance(answer.knife, Untold):
        return ""
    given = Given(answer.visit)
    now = section(given)
    assert now is not None
    plan = answer.knife
    ground = now.ground(plan.top_stock, plan.front_stock)
    return knife_section(
        now.polygon(),
        ground.polygon((plan.edge_back, -plan.edge_down)),
        now.top_angle,
        now.front_angle,
        edge_radius=findings(given, answer.diagnosis).edge_radius,
        stock_top=plan.top_stock,
        stock_front=plan.front_stock,
        **manners(showing, "knife", width),
    )


def _on_reel(answer: Answer, showing: Showing, width: float) -> str:
    found, spec = answer.setting, answer.visit.knife
    if isinstance(found, Untold) or found.stand_before is None:
        return ""
    stand = found.stand_before
    height = answer.visit.height.of_cut
    return knife_on_reel(
        (stand.behind_centre**2 + stand.below_centre**2) ** 0.5 - found.wanted_gap,
        (float(spec.pivot_behind or 0.0), float(spec.pivot_below or 0.0)),
        (stand.behind_centre, stand.below_centre),
        stand.behind_centre,
        found.wanted_gap,
        stand.approach_angle,
        ground_below=None if height is None else stand.below_centre + float(height),
        top_angle=float(spec.top_angle or 0.0) + float(spec.seat_tilt or 0.0),
        blade_count=answer.reel.blade_count,
        **manners(showing, "on-reel", width),
    )


def _stance(answer: Answer, showing: Showing, width: float) -> str:
    """As found; with a plan, as it stands after it, and as found dashed."""
    found = answer.stance
    if isinstance(found, Untold):
        return ""
    now, plan = drawn_stance(found.unit, found.stance), found.plan
    stands, unit = (found.stance, found.unit) if plan is None else (plan.stance, plan.unit)
    return unit_on_its_rollers(
        drawn_stance(unit, stands),
        before=None if plan is None else now,
        heights=(stands.left.height_of_cut, stands.right.height_of_cut),
        foot_off=abs(stands.on_flat.twist) if stands.on_flat.rocks_about else 0.0,
        **manners(showing, "stance", width),
    )


def drawn_stance(unit: CuttingUnit, stands: Stance) -> DrawnStance:
    """Return a unit's left end as the picture takes it: along the ground it stands on."""
    end, at = unit.left, stands.left
    line = ground_line(end.front, end.rear)
    axis = line.seen(end.axis)
    front, rear = (line.seen(Point(roller.behind, roller.below)) for roller in (end.front, end.rear))
    return DrawnStance(
        end.reel_diameter / 2.0,
        at.below_centre + at.height_of_cut,
        at.behind_centre,
        at.height_of_cut,
        front.behind - axis.behind,
        end.front.diameter / 2.0,
        rear.behind - axis.behind,
        end.rear.diameter / 2.0,
        at.attitude,
        at.top_fall,
        at.front_lean,
        at.top_clearance,
        at.approach_angle,
    )


def _prediction(answer: Answer, showing: Showing, width: float) -> str:
    if answer.as_left is None or not answer.as_left.compared:
        return ""
    k = coverage_factor(0.95)
    rows = [
        Compared(showing.say(c.name), c.predicted.value, k * c.predicted.u, c.measured.value, k * c.measured.u)
        for c in answer.as_left.compared
    ]
    return predicted_against_measured(rows, **manners(showing, "prediction", width))


OF_FOUND: dict[str, Callable[[Found, Showing, float], str]] = {
    "unrolled": _unrolled,
    "cone": _cone,
    "explanations": _explanations,
    "passes": _passes,
    "trade": _trade,
}
_DRAWN: dict[str, Callable[[Answer, Showing, float], str]] = {
    **OF_FOUND,
    "land": _land,
    "knife": _knife,
    "on-reel": _on_reel,
    "stance": _stance,
    "prediction": _prediction,
}
"""Each picture by its name; it returns nothing where the answer has nothing for it."""
