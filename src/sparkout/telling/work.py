"""What to do, in words: spin, relief, bedknife, setting, proof."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.core.cautions import LOCAL_RULES, STEPS, guard_figures
from sparkout.core.measured import Measured
from sparkout.reckoning.answer import Untold
from sparkout.telling.section import Section, Table

if TYPE_CHECKING:
    from sparkout.core.bedknife.life import KnifePlan
    from sparkout.core.grinding.plan import SpinPlan
    from sparkout.reckoning.answer import Answer, Setting, Spin
    from sparkout.showing import Showing


def untold(part: Untold) -> tuple[str, ...]:
    """Say why there is no plan, and what would make one possible."""
    return (f"No answer yet on {part.what}.", f"Wanted: {part.wanted}.")


def cautions(answer: Answer, *steps: str) -> tuple[str, ...]:
    """Return the short cautions of some steps, each once; the one that goes with everything is told at the end."""
    found = {c.id: c.short for step in steps for c in answer.cautions.get(step, ()) if len(c.steps) < len(STEPS)}
    return tuple(found.values())


def spin(answer: Answer, showing: Showing) -> tuple[Section, ...]:
    """The spin grind: where to stop, set-up, passes, what is left."""
    if isinstance(answer.spin, Untold):
        return (Section("spin", "Spin grind", untold(answer.spin), (), cautions(answer, "spin grind")).said(showing),)
    return (
        _finish(answer.spin, showing),
        Section(
            "set up",
            "Set up on the bearing axis",
            set_up_lines(answer.spin.plan, showing),
            (guards(answer, showing),),
            cautions(answer, "set up grinder", "wheel mounting"),
        ).said(showing),
        _passes(answer, answer.spin, showing),
        _left(answer.spin, showing),
    )


def _finish(spin_found: Spin, showing: Showing) -> Section:
    plan = spin_found.plan
    lines = [
        f"Finish diameter {showing.measured(plan.finish_diameter)}; service limit {showing.length(spin_found.service_diameter)}.",
        f"Takes {showing.length(plan.heaviest_stock)} off the radius where it stands highest, "
        f"{showing.length(max(plan.lightest_stock, 0.0))} where lowest.",
    ]
    if plan.chance_fully_clean is not None:
        lines.append(f"Chance that the whole edge cleans up: {showing.probability(plan.chance_fully_clean)}.")
    else:
        lines.append(f"{showing.share(plan.uncleaned_share, 1)} of the edge length stays unground.")
    rows = tuple(
        (
            showing.share(float(a), 0),
            showing.share(float(u), 1),
            showing.length(2 * float(r)),
            showing.length(2 * float(k)),
        )
        for a, u, r, k in zip(
            plan.trade.allowed, plan.trade.uncleaned, plan.trade.finish_radius, plan.trade.kept, strict=True
        )
    )
    head = ("may stay unground", "would", "finish diameter", "diameter kept")
    table = Table(head, rows, "Unground edge against life")
    return Section("finish", "Spin grind: where to stop", (*lines, *spin_found.notes), (table,)).said(showing)


def set_up_lines(plan: SpinPlan, showing: Showing) -> tuple[str, ...]:
    """Say how to bring the reel's bearing axis parallel to the wheel's travel."""
    touch, move = plan.set_up.touch_off, plan.set_up.move
    lines = [
        "Set the reel by its journals or bearing seats, not by its worn blades: setting off the blades copies the cone."
    ]
    if touch.large_end != "neither":
        other = "left" if touch.large_end == "right" else "right"
        lines.append(
            f"Touch-off check: wheel just touching the {touch.large_end} end, the {other} end must show "
            f"{showing.measured(Measured(abs(touch.difference.value), touch.difference.u))} of daylight."
        )
        lines.append(
            f"If it was set by the outside of the blades, move the {other} end away from the wheel by "
            f"{showing.length(abs(move.offset))} at the adjuster: {showing.figure(abs(move.turns), 2)} turns, "
            f"{count(round(abs(plan.set_up.divisions)), 'division')}; then prove it by the touch-off check."
        )
    else:
        lines.append("Touch-off check: both ends must touch alike.")
    lines.append("A carriage out of parallel over the length grinds twice that as a cone on diameter.")
    return tuple(lines)


def guards(answer: Answer, showing: Showing) -> Table:
    """The guard and gap figures of 29 CFR 1910.215 as quoted, and how the gaps as entered stand against them."""
    entered = {"work-rest": answer.visit.grinder.work_rest_gap, "tongue": answer.visit.grinder.tongue_gap}
    rows = []
    for figure in guard_figures():
        value = entered.get(figure.id)
        told = (
            "-"
            if value is None
            else showing.length(float(value)) + ("" if figure.holds(float(value)) else ": TOO WIDE")
        )
        printed = figure.printed if showing.system == "mm" else figure.us_units
        rows.append((figure.what, printed, figure.paragraph, told))
    head = ("guard or gap", "figure", "paragraph", "as entered")
    return Table(head, tuple(rows), f"29 CFR 1910.215. {LOCAL_RULES}")


def _passes(answer: Answer, spin_found: Spin, showing: Showing) -> Section:
    plan = spin_found.plan
    deep = showing.unit("length", max((p.dial_total for p in plan.passes), default=0.0))
    rows = tuple(
        (
            str(p.number),
            p.kind,
            showing.length(p.infeed),
            showing.quantity(p.dial_total, "length", unit=deep),
            showing.share(p.touched),
            showing.length(p.largest_bite),
            showing.quantity(p.removal.removal_rate, "removal rate"),
            showing.quantity(p.removal.specific_removal_rate, "specific removal rate"),
            showing.quantity(p.removal.power, "power"),
            showing.duration(p.time),
        )
        for p in plan.passes
    )
    counts = {kind: sum(p.kind == kind for p in plan.passes) for kind in ("rough", "finish", "spark-out")}
    lines = [
        f"{counts['rough']} rough, {counts['finish']} finish, {counts['spark-out']} spark-out passes: "
        f"{showing.duration(plan.time)} of traverse. Overlap {showing.figure(plan.overlap, 1)} wheel widths per reel turn.",
        f"Wheel loses {showing.length(plan.wheel_loss)} of radius; one-way traverse would grind in a cone of "
        f"{showing.length(abs(plan.cone_from_one_traverse))}.",
    ]
    check = plan.speed_check
    if check is not None:
        speed, marked = (
            showing.quantity(v, "speed", unit=_rim(showing)) for v in (check.surface_speed, check.marked_speed)
        )
        lines.append(
            f"Wheel speed {speed}, marked {marked}: "
            + (
                "within the marking."
                if check.allowed
                else "TOO FAST. Do not run: lower the spindle speed or change the wheel."
            )
        )
    head = (
        "pass",
        "kind",
        "infeed",
        "dial total",
        "edge touched",
        "largest bite",
        "removal",
        "per width",
        "power",
        "time",
    )
    return Section(
        "passes",
        "Spin grind: passes",
        tuple(lines),
        (Table(head, rows),),
        cautions(answer, "spin grind", "dust", "noise and vibration"),
    ).said(showing)


def _rim(showing: Showing) -> str:
    return "m/s" if showing.system == "mm" else "ft/min"


def _left(spin_found: Spin, showing: Showing) -> Section:
    plan = spin_found.plan
    left = plan.grinds_left
    lines = [
        f"Predicted as left: run-out {showing.residue(plan.as_left_run_out)}, "
        f"cone {showing.residue(abs(plan.as_left_cone))} on diameter.",
        f"Diameter left above the service limit: {showing.measured(plan.above_service)}; "
        f"grinds like this one left: {left.expected} ({left.low} to {left.high}).",
    ]
    unit = showing.unit("length", max(m.value for place in plan.land for m in (place.before, place.after)))
    rows = tuple(
        (
            place.place,
            showing.measured(place.before, unit=unit),
            showing.measured(place.after, unit=unit),
            "gone: land as wide as the blade"
            if place.relief_gone
            else {True: "due", False: "not due", None: "no limit on file"}[place.relief_due],
        )
        for place in plan.land
    )
    table = Table(("place", "land before", "land after", "relief grind"), rows, "Land")
    return Section("left", "What is left after the spin grind", tuple(lines), (table,)).said(showing)


def relief_wished(answer: Answer) -> bool:
    """Tell whether the file asks for a relief grind, due or not."""
    return answer.visit.wanted.relief == "yes"


def relief(answer: Answer, showing: Showing) -> Section:
    """The relief grind."""
    plan = answer.relief
    if isinstance(plan, Untold):
        return Section("relief", "Relief grind", untold(plan)).said(showing)
    due = {
        True: "Due: the land would stand over the workshop's limit.",
        False: "Not due by the workshop's limit; shown is what it would take.",
        None: "No limit on the land on file; shown is what it would take.",
    }
    lines = [
        due[plan.due] if plan.due or not relief_wished(answer) else "Asked for in the file.",
        f"Back to a land of {showing.length(plan.land_after)}: heaviest stock {showing.length(plan.heaviest_stock)} square to the facet, "
        f"{plan.passes_per_blade} passes a blade, {showing.duration(plan.time)} in all.",
    ]
    if plan.uneven.proven:
        cone = plan.uneven.old_cone
        lines.append(
            f"The land will differ end to end by {showing.length(abs(plan.uneven.difference.value))}: what is left of a cone of "
            f"{showing.measured(Measured(abs(cone.value), cone.u))} spun true."
        )
    wide, deep = (
        showing.unit("length", max(m.value for m in column))
        for column in ([e.land for e in plan.ends], [e.stock for e in plan.ends])
    )
    rows = tuple(
        (e.place, showing.measured(e.land, unit=wide), showing.measured(e.stock, unit=deep), str(e.passes))
        for e in plan.ends
    )
    table = Table(("place", "land", "stock square to the facet", "passes"), rows)
    return Section("relief", "Relief grind", tuple(lines), (table,), cautions(answer, "relief grind")).said(showing)


CAUSE_WORDS = {
    "rounding": "rounded edge",
    "wear land": "land worn on the top face",
    "nick": "nicks",
    "top bow": "top face not straight",
    "front bow": "front face not straight",
    "top angle": "top angle off",
    "front angle": "front angle off",
}


def _off_faces(plan: KnifePlan, showing: Showing) -> list[str]:
    faces = (("top", plan.top_stock, plan.top_passes), ("front", plan.front_stock, plan.front_passes))
    return [
        f"{showing.length(stock)} off the {face} face in {passes} pass{'es' if passes != 1 else ''}"
        for face, stock, passes in faces
        if stock > 0
    ]


def knife(answer: Answer, showing: Showing) -> Section:
    """The bedknife."""
    plan = answer.knife
    if isinstance(plan, Untold):
        return Section("knife", "Bedknife", untold(plan)).said(showing)
    if plan.face is None:
        lines = ["Nothing asks for a grind."]
    else:
        faces = {"top": "the top face", "front": "the front face", "both": "both faces"}[plan.face]
        causes = ", ".join(CAUSE_WORDS[cause] for cause in plan.causes)
        lines = [
            f"Grind {faces} ({causes}).",
            f"{'; '.join(_off_faces(plan, showing))}; square to each face.",
            f"The edge comes down {showing.length(plan.edge_down)} and moves back {showing.length(plan.edge_back)}.",
        ]
    left = "" if plan.grinds_left is None else f"; grinds like this one left: {plan.grinds_left} (by {plan.limited_by})"
    lines.append(
        f"Leaves lip height {showing.measured(plan.lip_height_after)}, front-lip depth "
        f"{showing.measured(plan.front_lip_depth_after)}{left}."
    )
    if plan.standing is not None:
        lines.append(
            f"Edge angle {showing.quantity(plan.included_angle, 'angle')}; standing in the unit: top clearance "
            f"{showing.quantity(plan.standing.top, 'angle')}, front {showing.quantity(plan.standing.front, 'angle')}."
        )
    rows = tuple(
        (
            o.face,
            showing.length(o.top_stock),
            showing.length(o.front_stock),
            showing.share(o.life_used) if o.life_used <= 1 else "not possible",
        )
        for o in plan.options
    )
    table = Table(("grind", "top stock", "front stock", "of the life left"), rows, "The three ways")
    return Section("knife", "Bedknife", tuple(lines), (table,), cautions(answer, "knife grind", "deburr")).said(showing)


def setting(answer: Answer, showing: Showing) -> Section:
    """Bedknife to reel, attitude, height of cut."""
    found = answer.setting
    if isinstance(found, Untold):
        return Section("setting", "Bedknife to reel", untold(found), (), cautions(answer, "set")).said(showing)
    lines = [f"Set {showing.length(found.wanted_gap)} all along.", *_click_lines(found, showing)]
    if found.stand_before is not None:
        lines.append(
            f"Edge stands {showing.length(abs(found.stand_before.behind_centre))} "
            f"{'behind' if found.stand_before.behind_centre >= 0 else 'ahead of'} centre, "
            f"{showing.length(found.stand_before.below_centre)} below the axis, approach "
            f"{showing.quantity(found.stand_before.approach_angle, 'angle')} (as found)."
        )
    if found.attitude is not None:
        lines.append(
            f"Brought to the reel as ground: {_moved(found.attitude.behind_centre, showing)}, "
            f"top clearance {_turn(found.attitude.top_clearance, showing)}."
        )
    if found.height is not None:
        change = found.height
        direction = "rises" if change.height_change > 0 else "falls"
        lines.append(
            f"Height of cut {direction} by {showing.length(abs(change.height_change))} through the work as planned."
        )
        if change.turns is not None:
            verb = "raise" if change.turn_back > 0 else "lower"
            lines.append(
                f"To have the old height back, {verb} by {showing.length(abs(change.turn_back))}: "
                f"{showing.figure(abs(change.turns), 2)} turns of the height adjuster at each end."
            )
    return Section("setting", "Bedknife to reel", (*lines, *found.notes), (), cautions(answer, "set")).said(showing)


def _moved(value: float, showing: Showing) -> str:
    return f"the edge moves {showing.length(abs(value))} {'rearward' if value > 0 else 'forward'}"


def _turn(value: float, showing: Showing) -> str:
    return f"{showing.quantity(abs(value), 'angle')} {'more' if value > 0 else 'less'}"


def count(number: int, thing: str) -> str:
    """Return so many of a thing in words: 'no click', '1 click', '2 clicks'."""
    return f"no {thing}" if number == 0 else f"{number} {thing}{'' if number == 1 else 's'}"


def _click_lines(found: Setting, showing: Showing) -> list[str]:
    lines = []
    if found.gap_per_click is not None:
        lines.append(f"One click of the adjuster moves the gap {showing.length(found.gap_per_click)}.")
    clicks = found.clicks
    if clicks is not None:
        sides = [
            f"{side} {count(abs(whole), 'click')}{' closer' if whole > 0 else ' more open' if whole < 0 else ''}"
            for side, whole in (("left", clicks.left_whole), ("right", clicks.right_whole))
        ]
        lines.append(
            f"From the gaps read: {', '.join(sides)}; leaves {showing.length(clicks.gap_after.left)} left, "
            f"{showing.length(clicks.gap_after.right)} right."
        )
        lines.extend(clicks.notes)
    return lines


def proof(answer: Answer, showing: Showing) -> Section:
    """Paper proofs read as evidence."""
    lines: list[str] = []
    tables = []
    for found in answer.proofs:
        lines += [
            f"Paper proof {found.when}: {found.evidence.sentences[0]}",
            *found.evidence.sentences[1:],
            *found.evidence.cautions,
        ]
        rows = tuple(
            (e.words, showing.probability(e.weight)) for e in found.evidence.explanations[:5] if e.weight >= 0.01
        )
        tables.append(Table(("explanation", "weight"), rows, f"What the paper says, {found.when}"))
    if not lines:
        lines = ["No paper proof on file: try every blade at the left, centre and right, and enter what happened."]
    return Section("proof", "Paper proof", tuple(dict.fromkeys(lines)), tuple(tables), cautions(answer, "prove")).said(
        showing
    )
