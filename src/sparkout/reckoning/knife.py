"""The bedknife: which face to grind, how much, what that leaves; and the relief grind of the reel."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sparkout.core.bedknife.life import KnifeFindings, knife_plan
from sparkout.core.bedknife.section import KnifeSection
from sparkout.core.errors import BelowServiceLimit, Refusal
from sparkout.core.grinding import usual
from sparkout.core.grinding.relief import relief_plan
from sparkout.core.phrase import phrase
from sparkout.reckoning.answer import Spin, Untold
from sparkout.reckoning.given import PRACTICE
from sparkout.reckoning.grind import grinder, lands

if TYPE_CHECKING:
    from sparkout.core.bedknife.life import KnifePlan
    from sparkout.core.grinding.relief import ReliefPlan
    from sparkout.core.measured import Measured
    from sparkout.core.reel.geometry import Reel
    from sparkout.core.setting.pivot import KnifeOnReel
    from sparkout.reckoning.answer import Diagnosis
    from sparkout.reckoning.given import Given

_USUAL_INFEED = 0.02


def section(given: Given) -> KnifeSection | None:
    """Return the bedknife's section as it is now, or None when lip height or front-lip depth is unknown."""
    spec = given.visit.knife
    lip = given.mean_of("lip height")
    depth = given.mean_of("front lip depth")
    lip_now = lip.value if lip else None if spec.lip_height is None else float(spec.lip_height)
    depth_now = depth.value if depth else None if spec.front_lip_depth is None else float(spec.front_lip_depth)
    if lip_now is None or depth_now is None:
        return None
    if lip is None:
        given.assume(phrase("lip height as specified when new, because none was read"))
    if depth is None:
        given.assume(phrase("front-lip depth as specified when new, because none was read"))
    top = given.or_else(
        spec.top_angle, math.radians(10.0), phrase("bedknife top angle 10 degrees ({practice})", practice=PRACTICE)
    )
    front = given.or_else(
        spec.front_angle, math.radians(5.0), phrase("bedknife front angle 5 degrees ({practice})", practice=PRACTICE)
    )
    return KnifeSection(
        top,
        front,
        lip_now,
        depth_now,
        given.or_else(spec.thickness, 5.0, phrase("bedknife thickness 5 mm ({practice})", practice=PRACTICE)),
        max(depth_now, given.or_else(spec.width, 50.0, phrase("bedknife width 50 mm ({practice})", practice=PRACTICE))),
    )


def findings(given: Given, diagnosis: Diagnosis) -> KnifeFindings:
    """Return what was found on the bedknife; a bow counts only where readings tell it from none."""

    def largest(of: str) -> float:
        return max((float(r.value) for r in given.readings(of) if r.value is not None), default=0.0)

    top, front = given.mean_of("top angle"), given.mean_of("front angle")
    bow = diagnosis.state.knife_bow
    bowed = "knife bow" in diagnosis.informed and abs(bow.value) > 2.0 * bow.u
    straight = any(o.kind == "knife" for o in diagnosis.state.observations)
    return KnifeFindings(
        edge_radius=largest("edge rounding"),
        wear_land=largest("wear land"),
        top_bow=abs(bow.value) if bowed and (straight or diagnosis.state.chance_of("knife bowed") > 0.5) else 0.0,
        top_angle_now=None if top is None or not _off(top, given.visit.knife.top_angle) else top.value,
        front_angle_now=None if front is None or not _off(front, given.visit.knife.front_angle) else front.value,
    )


def _off(read: Measured, wanted: float | None) -> bool:
    """Whether an angle as read is proven to be other than wanted; less than its uncertainty is no reason to grind."""
    return wanted is not None and abs(read.value - float(wanted)) > 2.0 * read.u


def knife(given: Given, diagnosis: Diagnosis, stand: KnifeOnReel | None) -> KnifePlan | Untold:
    """Return the knife plan, or what is wanted for one."""
    try:
        return _knife(given, diagnosis, stand)
    except BelowServiceLimit as refusal:
        return Untold(phrase("a bedknife plan: {what}", what=refusal.what), refusal.instead)
    except Refusal as refusal:
        return Untold(phrase("a bedknife plan: {refusal}", refusal=refusal), phrase("figures that fit one bedknife"))


def _knife(given: Given, diagnosis: Diagnosis, stand: KnifeOnReel | None) -> KnifePlan | Untold:
    now = section(given)
    if now is None:
        return Untold(
            phrase("a bedknife plan"), phrase("lip height and front-lip depth, as read or as specified when new")
        )
    least = {name: given.limit(name) for name in ("lip height", "front lip depth")}
    found = findings(given, diagnosis)
    if (
        not any(given.readings(of) for of in ("edge rounding", "wear land", "top angle", "front angle"))
        and not found.top_bow
    ):
        return Untold(
            phrase("a bedknife plan"),
            phrase("how round the edge is (edge rounding), or the width of the wear land on its top face"),
        )
    depth, lip = given.mean_of("front lip depth"), given.mean_of("lip height")
    lip_limit, depth_limit = least["lip height"], least["front lip depth"]
    return knife_plan(
        now,
        found,
        least_lip_height=lip_limit.lower if lip_limit else None,
        least_front_lip_depth=depth_limit.lower if depth_limit else None,
        infeed=given.or_else(
            given.visit.grinder.finish_infeed,
            _USUAL_INFEED,
            phrase("bedknife grinder infeed {infeed} mm ({practice})", infeed=_USUAL_INFEED, practice=PRACTICE),
        ),
        lip_height_u=lip.u if lip else 0.2,
        front_lip_depth_u=depth.u if depth else 0.2,
        approach_angle=None if stand is None else stand.approach_angle,
        seat_tilt=float(given.visit.knife.seat_tilt or 0.0),
    )


def relief_set_up(given: Given) -> tuple[float, float]:
    """Return infeed of a relief pass, mm, and the time to index from blade to blade, s; stand-ins are written down."""
    infeed = given.or_else(
        given.visit.grinder.relief_infeed,
        usual.RELIEF_INFEED,
        phrase("grinder: relief infeed 0.02 mm ({practice})", practice=PRACTICE),
    )
    told = phrase("20 s to index from blade to blade ({practice})", practice=PRACTICE)
    return infeed, given.or_else(None, usual.INDEXING_TIME, told)


def relief(given: Given, reel: Reel, spin: Spin | Untold) -> ReliefPlan | Untold:
    """Return the relief plan, after the spin grind where there is one."""
    wish = given.visit.wanted.relief or "if due"
    if wish == "no":
        return Untold(phrase("a relief plan"), phrase("relief wished as 'yes' or 'if due'; it is 'no' in the file"))
    limit = given.limit("land")
    if isinstance(spin, Untold):
        if not given.readings("land"):
            return Untold(phrase("a relief plan"), phrase("land readings at both ends and the centre"))
        now = lands(given, reel)
    else:
        now = tuple(place.after for place in spin.plan.land)  # type: ignore[assignment]
    try:
        machine = grinder(given, reel)
        infeed, indexing = relief_set_up(given)
        return relief_plan(
            reel,
            now,
            reel.land,
            relief_infeed=infeed,
            traverse_speed=machine.traverse_speed,
            wheel_width=machine.wheel_width,
            land_limit=limit.upper if limit else None,
            indexing_time=indexing,
        )
    except Refusal as refusal:
        return Untold(
            phrase("a relief plan: {refusal}", refusal=refusal), phrase("figures within what a grinder can do")
        )
