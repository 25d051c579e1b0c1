"""The spin grind and the relief grind for this reel on this grinder."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from sparkout.core.cautions import guard_figure
from sparkout.core.errors import BelowServiceLimit, Refusal
from sparkout.core.grinding import usual
from sparkout.core.grinding.grinder import GIVE_TO_START_WITH, Grinder
from sparkout.core.grinding.spin import spin_plan
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase
from sparkout.reckoning.answer import Spin, Untold
from sparkout.reckoning.given import PRACTICE

if TYPE_CHECKING:
    from sparkout.core.grinding.plan import SpinPlan
    from sparkout.core.reel.geometry import Reel
    from sparkout.reckoning.answer import Diagnosis
    from sparkout.reckoning.given import Given
    from sparkout.visit.taken import When

TOO_UNSURE = 0.3
"""Standard uncertainty of the lowest point, mm, beyond which a plan would be a guess."""
PROVISIONAL = 0.05
"""The same beyond which the plan is told as provisional."""
_THIRDS = (("left", 0.0), ("middle", 0.5), ("right", 1.0))

_STAND_INS: dict[str, tuple[float, str]] = {
    "g_ratio": (usual.G_RATIO, phrase("grinding ratio 60")),
    "wheel_diameter": (usual.WHEEL_DIAMETER, phrase("wheel diameter 150 mm")),
    "wheel_width": (usual.WHEEL_WIDTH, phrase("wheel width 20 mm")),
    "spindle_speed": (usual.SPINDLE_SPEED, phrase("spindle speed 3000 1/min")),
    "traverse_speed": (usual.TRAVERSE_SPEED, phrase("traverse speed 40 mm/s")),
    "work_speed": (usual.WORK_SPEED, phrase("reel turning at 200 1/min while ground")),
    "rough_infeed": (usual.ROUGH_INFEED, phrase("rough infeed 0.02 mm")),
    "finish_infeed": (usual.FINISH_INFEED, phrase("finish infeed 0.01 mm")),
    "thread_pitch": (usual.THREAD_PITCH, phrase("set-up screw pitch 1.5 mm")),
    "specific_energy": (usual.SPECIFIC_ENERGY, phrase("specific energy 40 J/mm³")),
}


def grinder(given: Given, reel: Reel) -> Grinder:
    """Return the grinder as the file has it; stand-ins are written down."""
    spec = given.visit.grinder

    def figure(name: str) -> float:
        stand_in, words = _STAND_INS[name]
        return given.or_else(
            getattr(spec, name), stand_in, phrase("grinder: {figure} ({practice})", figure=words, practice=PRACTICE)
        )

    give = given.or_else(
        spec.give,
        GIVE_TO_START_WITH.value,
        phrase(
            "grinder: give {give} ({practice})",
            give=GIVE_TO_START_WITH.value,
            practice=PRACTICE,
        ),
    )
    ratio, rough = figure("g_ratio"), figure("rough_infeed")
    return Grinder(
        give=Measured(give, GIVE_TO_START_WITH.u if spec.give_uncertainty is None else float(spec.give_uncertainty)),
        g_ratio=Measured(ratio, ratio / 3 if spec.g_ratio_uncertainty is None else float(spec.g_ratio_uncertainty)),
        wheel_diameter=figure("wheel_diameter"),
        wheel_width=figure("wheel_width"),
        spindle_speed=figure("spindle_speed"),
        traverse_speed=figure("traverse_speed"),
        work_speed=figure("work_speed"),
        rough_infeed=rough,
        finish_infeed=min(figure("finish_infeed"), rough),
        spark_out_passes=usual.SPARK_OUT_PASSES if spec.spark_out_passes is None else spec.spark_out_passes,
        mount_spacing=given.or_else(
            spec.mount_spacing,
            reel.length,
            phrase("grinder: mounts as far apart as the blades are long ({practice})", practice=PRACTICE),
        ),
        thread_pitch=figure("thread_pitch"),
        divisions_per_turn=usual.DIVISIONS_PER_TURN if spec.divisions_per_turn is None else spec.divisions_per_turn,
        specific_energy=figure("specific_energy"),
        marked_speed=None if spec.marked_speed is None else float(spec.marked_speed),
    )


def lands(given: Given, reel: Reel, when: When = "as found") -> tuple[Measured, Measured, Measured]:
    """Return the land at left, middle and right: the readings nearest each place, else the mean of all."""
    overall = given.land(when)
    placed = [
        (r.at.along(reel.length), float(r.value), given.reading_u(r))
        for r in given.readings("land", when)
        if r.at is not None and r.value is not None
    ]
    found = []
    for _, share in _THIRDS:
        near = [(v, u) for x, v, u in placed if abs(x - share * reel.length) <= reel.length / 4]
        if near:
            mean = sum(v for v, _ in near) / len(near)
            found.append(Measured(mean, max(u for _, u in near) / math.sqrt(len(near))))
        else:
            found.append(overall)
    return found[0], found[1], found[2]


def nick_depth(given: Given) -> float:
    """Return how deep nicks must be ground out: as wanted, else the deepest read, else none."""
    if given.visit.wanted.nick_depth is not None:
        return float(given.visit.wanted.nick_depth)
    return max((float(r.value) for r in given.readings("nick depth") if r.value is not None), default=0.0)


def spin(given: Given, reel: Reel, diagnosis: Diagnosis) -> Spin | Untold:
    """Return the spin-grind plan, or why there is none and what would be possible instead."""
    service = given.limit("diameter")
    if service is None or service.lower is None:
        return Untold(
            phrase("a spin-grind plan"),
            phrase("the least diameter this reel may be used at (machine's handbook), as a limit"),
        )
    if "mean radius" not in diagnosis.informed:
        return Untold(
            phrase("a spin-grind plan"),
            phrase("one diameter: circumference tape, flat jaws or tip to tip, at any place"),
        )
    low = diagnosis.lowest.radius
    if low.u > TOO_UNSURE:
        wanted = phrase(
            "a dial on every blade at the ends and the centre (the lowest point is known only to ± {spread:.2f} mm)",
            spread=2 * low.u,
        )
        return Untold(phrase("a spin-grind plan"), wanted)
    wish = given.visit.wanted
    run_out, cone, land = (given.limit(name) for name in ("run-out", "cone", "land"))
    try:
        machine = grinder(given, reel)
        asked = _Wanted(
            service.lower,
            lands(given, reel),
            float(wish.uncleaned_share or 0.0),
            nick_depth(given),
            given.or_else(wish.allowance, 0.02, phrase("clean-up allowance 0.02 mm ({practice})", practice=PRACTICE)),
            _wanted(wish.run_out, run_out.upper if run_out else None),
            _wanted(wish.cone, cone.upper if cone else None),
            land.upper if land else None,
        )
        plan = _planned(diagnosis, machine, asked)
    except BelowServiceLimit as refusal:
        return Untold(phrase("a spin-grind plan: {what}", what=refusal.what), refusal.instead)
    except Refusal as refusal:
        return Untold(
            phrase("a spin-grind plan: {refusal}", refusal=refusal), phrase("figures within what a grinder can do")
        )
    return Spin(plan, service.lower, _notes(given, machine, diagnosis))


class _Wanted(NamedTuple):
    """What a plan has to reach and may not pass, mm."""

    service_diameter: float
    land: tuple[Measured, Measured, Measured]
    uncleaned_share: float
    nick_depth: float
    allowance: float
    run_out: float | None
    cone: float | None
    land_limit: float | None


@lru_cache(32)
def _planned(diagnosis: Diagnosis, machine: Grinder, wanted: _Wanted) -> SpinPlan:
    """Remembered by everything that goes in: readings of knife, gap or as left do not change the plan."""
    return spin_plan(
        diagnosis.state.reel,
        diagnosis.heights,
        diagnosis.stations,
        diagnosis.lowest.radius,
        machine,
        wanted.service_diameter,
        cone=diagnosis.state.cone,
        land=wanted.land,
        uncleaned_share=wanted.uncleaned_share,
        nick_depth=wanted.nick_depth,
        allowance=wanted.allowance,
        wanted_run_out=wanted.run_out,
        wanted_cone=wanted.cone,
        land_limit=wanted.land_limit,
    )


def _wanted(wished: float | None, limit: float | None) -> float | None:
    return float(wished) if wished is not None else limit


def _notes(given: Given, machine: Grinder, diagnosis: Diagnosis) -> tuple[str, ...]:
    notes = []
    low = diagnosis.lowest
    if low.radius.u > PROVISIONAL:
        notes.append(
            phrase(
                "Provisional: the lowest point is not known well; dial every blade at both ends and the centre "
                "before the first pass."
            )
        )
    if machine.marked_speed is None:
        notes.append(
            phrase("Read the speed marked on the wheel and enter it: without it the spindle speed cannot be checked.")
        )
    if given.visit.grinder.give is None:
        notes.append(phrase("The grinder's give is a usual figure; as-left readings of one grind teach its own."))
    for gap, figure in (
        (given.visit.grinder.work_rest_gap, guard_figure("work-rest")),
        (given.visit.grinder.tongue_gap, guard_figure("tongue")),
    ):
        if gap is not None and not figure.holds(float(gap)):
            notes.append(
                phrase(
                    "{what}: wider than {printed} ({paragraph}); {standing}. Stop the wheel before setting it.",
                    what=figure.what,
                    printed=figure.printed,
                    paragraph=figure.paragraph,
                    standing=figure.standing,
                )
            )
    return tuple(notes)
