"""What to do, in words: spin, relief, bedknife, setting, proof."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.core.cautions import LOCAL_RULES, STEPS, guard_figures
from sparkout.core.measured import Measured
from sparkout.core.phrase import counted, joined, phrase
from sparkout.reckoning.answer import Untold
from sparkout.telling.section import Section, Table
from sparkout.telling.stance import now_lines, plan_lines

if TYPE_CHECKING:
    from sparkout.core.bedknife.life import KnifePlan
    from sparkout.core.grinding.plan import SpinPlan
    from sparkout.reckoning.answer import Answer, Found, Setting, Spin
    from sparkout.showing import Showing


def untold(part: Untold) -> tuple[str, ...]:
    """Say why there is no plan, and what would make one possible."""
    return (phrase("No answer yet on {what}.", what=part.what), phrase("Wanted: {wanted}.", wanted=part.wanted))


def cautions(answer: Found, *steps: str) -> tuple[str, ...]:
    """Return the short cautions of some steps, each once; the one that goes with everything is told at the end."""
    found = {c.id: c.short for step in steps for c in answer.cautions.get(step, ()) if len(c.steps) < len(STEPS)}
    return tuple(found.values())


def spin(answer: Answer, showing: Showing) -> tuple[Section, ...]:
    """The spin grind: where to stop, set-up, passes, what is left."""
    if isinstance(answer.spin, Untold):
        return (
            Section("spin", phrase("Spin grind"), untold(answer.spin), (), cautions(answer, "spin grind")).said(
                showing
            ),
        )
    return (
        _finish(answer.spin, showing),
        Section(
            "set up",
            phrase("Set up on the bearing axis"),
            set_up_lines(answer.spin.plan, showing),
            (guards(answer, showing),),
            cautions(answer, "set up grinder", "wheel mounting"),
        ).said(showing),
        _passes(answer, answer.spin, showing),
        _left(answer.spin, showing),
    )


def _finish(spin_found: Spin, showing: Showing) -> Section:
    plan = spin_found.plan
    lines: list[str] = [
        phrase(
            "Finish diameter {finish_diameter}; service limit {service_diameter}.",
            finish_diameter=showing.measured(plan.finish_diameter),
            service_diameter=showing.length(spin_found.service_diameter),
        ),
        phrase(
            "Takes {heaviest_stock} off the radius where it stands highest, {lightest_stock} where lowest.",
            heaviest_stock=showing.length(plan.heaviest_stock),
            lightest_stock=showing.length(max(plan.lightest_stock, 0.0)),
        ),
    ]
    if plan.chance_fully_clean is not None:
        lines.append(
            phrase(
                "Chance that the whole edge cleans up: {chance_fully_clean}.",
                chance_fully_clean=showing.probability(plan.chance_fully_clean),
            )
        )
    else:
        lines.append(
            phrase(
                "{uncleaned_share} of the edge length stays unground.",
                uncleaned_share=showing.share(plan.uncleaned_share, 1),
            )
        )
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
    head = (phrase("may stay unground"), phrase("would"), phrase("finish diameter"), phrase("diameter kept"))
    table = Table(head, rows, phrase("Unground edge against life"))
    return Section("finish", phrase("Spin grind: where to stop"), (*lines, *spin_found.notes), (table,)).said(showing)


def set_up_lines(plan: SpinPlan, showing: Showing) -> tuple[str, ...]:
    """Say how to bring the reel's bearing axis parallel to the wheel's travel."""
    touch, move = plan.set_up.touch_off, plan.set_up.move
    lines: list[str] = [
        phrase(
            "Set the reel by its journals or bearing seats, not by its worn blades: setting off the blades "
            "copies the cone."
        )
    ]
    if touch.large_end != "neither":
        other = "left" if touch.large_end == "right" else "right"
        lines.append(
            phrase(
                "Touch-off check: wheel just touching the {large_end} end, the {other} end must show {daylight} of "
                "daylight.",
                large_end=touch.large_end,
                other=other,
                daylight=showing.measured(Measured(abs(touch.difference.value), touch.difference.u)),
            )
        )
        lines.append(
            phrase(
                "If it was set by the outside of the blades, move the {other} end away from the wheel by {offset} at "
                "the adjuster: {turns} turns, {divisions}; then prove it by the touch-off check.",
                other=other,
                offset=showing.length(abs(move.offset)),
                turns=showing.figure(abs(move.turns), 2),
                divisions=divisions(plan.set_up.divisions),
            )
        )
    else:
        lines.append(phrase("Touch-off check: both ends must touch alike."))
    lines.append(phrase("A carriage out of parallel over the length grinds twice that as a cone on diameter."))
    return tuple(lines)


def guards(answer: Answer, showing: Showing) -> Table:
    """The guard and gap figures of 29 CFR 1910.215 as quoted, and how the gaps as entered stand against them."""
    entered = {"work-rest": answer.visit.grinder.work_rest_gap, "tongue": answer.visit.grinder.tongue_gap}
    rows = []
    for figure in guard_figures():
        value = entered.get(figure.id)
        if value is None:
            told = "-"
        elif figure.holds(float(value)):
            told = showing.length(float(value))
        else:
            told = phrase("{gap}: TOO WIDE", gap=showing.length(float(value)))
        printed = figure.printed if showing.system == "mm" else figure.us_units
        rows.append((figure.what, printed, figure.paragraph, told))
    head = (phrase("guard or gap"), phrase("figure"), phrase("paragraph"), phrase("as entered"))
    return Table(head, tuple(rows), phrase("29 CFR 1910.215. {local_rules}", local_rules=LOCAL_RULES))


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
    lines: list[str] = [
        phrase(
            "{rough} rough, {finish} finish, {spark_out} spark-out passes: {time} of traverse. Overlap "
            "{overlap} wheel widths per reel turn.",
            rough=counts["rough"],
            finish=counts["finish"],
            spark_out=counts["spark-out"],
            time=showing.duration(plan.time),
            overlap=showing.figure(plan.overlap, 1),
        ),
        phrase(
            "Wheel loses {wheel_loss} of radius; one-way traverse would grind in a cone of {cone_from_one_traverse}.",
            wheel_loss=showing.length(plan.wheel_loss),
            cone_from_one_traverse=showing.length(abs(plan.cone_from_one_traverse)),
        ),
    ]
    check = plan.speed_check
    if check is not None:
        speed, marked = (
            showing.quantity(v, "speed", unit=_rim(showing)) for v in (check.surface_speed, check.marked_speed)
        )
        standing = (
            phrase("within the marking.")
            if check.allowed
            else phrase("TOO FAST. Do not run: lower the spindle speed or change the wheel.")
        )
        lines.append(
            phrase("Wheel speed {speed}, marked {marked}: {standing}", speed=speed, marked=marked, standing=standing)
        )
    head = (
        phrase("pass"),
        phrase("kind"),
        phrase("infeed"),
        phrase("dial total"),
        phrase("edge touched"),
        phrase("largest bite"),
        phrase("removal"),
        phrase("per width"),
        phrase("power"),
        phrase("time"),
    )
    return Section(
        "passes",
        phrase("Spin grind: passes"),
        tuple(lines),
        (Table(head, rows),),
        cautions(answer, "spin grind", "dust", "noise and vibration"),
    ).said(showing)


def _rim(showing: Showing) -> str:
    return "m/s" if showing.system == "mm" else "ft/min"


def _left(spin_found: Spin, showing: Showing) -> Section:
    plan = spin_found.plan
    left = plan.grinds_left
    lines: list[str] = [
        phrase(
            "Predicted as left: run-out {as_left_run_out}, cone {as_left_cone} on diameter.",
            as_left_run_out=showing.residue(plan.as_left_run_out),
            as_left_cone=showing.residue(abs(plan.as_left_cone)),
        ),
        phrase(
            "Diameter left above the service limit: {above_service}; grinds like this one left: {expected} "
            "({low} to {high}).",
            above_service=showing.measured(plan.above_service),
            expected=left.expected,
            low=left.low,
            high=left.high,
        ),
    ]
    unit = showing.unit("length", max(m.value for place in plan.land for m in (place.before, place.after)))
    rows = tuple(
        (
            place.place,
            showing.measured(place.before, unit=unit),
            showing.measured(place.after, unit=unit),
            phrase("gone: land as wide as the blade")
            if place.relief_gone
            else {True: phrase("due"), False: phrase("not due"), None: phrase("no limit on file")}[place.relief_due],
        )
        for place in plan.land
    )
    table = Table(
        (phrase("place"), phrase("land before"), phrase("land after"), phrase("relief grind")), rows, phrase("Land")
    )
    return Section("left", phrase("What is left after the spin grind"), tuple(lines), (table,)).said(showing)


def relief_wished(answer: Answer) -> bool:
    """Tell whether the file asks for a relief grind, due or not."""
    return answer.visit.wanted.relief == "yes"


def relief(answer: Answer, showing: Showing) -> Section:
    """The relief grind."""
    plan = answer.relief
    if isinstance(plan, Untold):
        return Section("relief", phrase("Relief grind"), untold(plan)).said(showing)
    due = {
        True: phrase("Due: the land would stand over the workshop's limit."),
        False: phrase("Not due by the workshop's limit; shown is what it would take."),
        None: phrase("No limit on the land on file; shown is what it would take."),
    }
    lines: list[str] = [
        due[plan.due] if plan.due or not relief_wished(answer) else phrase("Asked for in the file."),
        phrase(
            "Back to a land of {land_after}: heaviest stock {heaviest_stock} square to the facet, "
            "{passes_per_blade} passes a blade, {time} in all.",
            land_after=showing.length(plan.land_after),
            heaviest_stock=showing.length(plan.heaviest_stock),
            passes_per_blade=plan.passes_per_blade,
            time=showing.duration(plan.time),
        ),
    ]
    if plan.uneven.proven:
        cone = plan.uneven.old_cone
        lines.append(
            phrase(
                "The land will differ end to end by {difference}: what is left of a cone of {cone} spun true.",
                difference=showing.length(abs(plan.uneven.difference.value)),
                cone=showing.measured(Measured(abs(cone.value), cone.u)),
            )
        )
    wide, deep = (
        showing.unit("length", max(m.value for m in column))
        for column in ([e.land for e in plan.ends], [e.stock for e in plan.ends])
    )
    rows = tuple(
        (e.place, showing.measured(e.land, unit=wide), showing.measured(e.stock, unit=deep), str(e.passes))
        for e in plan.ends
    )
    table = Table((phrase("place"), phrase("land"), phrase("stock square to the facet"), phrase("passes")), rows)
    return Section("relief", phrase("Relief grind"), tuple(lines), (table,), cautions(answer, "relief grind")).said(
        showing
    )


CAUSE_WORDS = {
    "rounding": phrase("rounded edge"),
    "wear land": phrase("land worn on the top face"),
    "nick": phrase("nicks"),
    "top bow": phrase("top face not straight"),
    "front bow": phrase("front face not straight"),
    "top angle": "top angle off",
    "front angle": phrase("front angle off"),
}


def _off_faces(plan: KnifePlan, showing: Showing) -> list[str]:
    found: list[str] = []
    if plan.top_stock > 0:
        found.append(
            counted(
                plan.top_passes,
                "{stock} off the top face in {n} pass",
                "{stock} off the top face in {n} passes",
                stock=showing.length(plan.top_stock),
            )
        )
    if plan.front_stock > 0:
        found.append(
            counted(
                plan.front_passes,
                "{stock} off the front face in {n} pass",
                "{stock} off the front face in {n} passes",
                stock=showing.length(plan.front_stock),
            )
        )
    return found


def knife(answer: Answer, showing: Showing) -> Section:
    """The bedknife."""
    plan = answer.knife
    if isinstance(plan, Untold):
        return Section("knife", phrase("Bedknife"), untold(plan)).said(showing)
    if plan.face is None:
        lines = [phrase("Nothing asks for a grind.")]
    else:
        faces = {"top": phrase("the top face"), "front": phrase("the front face"), "both": phrase("both faces")}[
            plan.face
        ]
        causes = joined(", ", (CAUSE_WORDS[cause] for cause in plan.causes))
        lines = [
            phrase("Grind {faces} ({causes}).", faces=faces, causes=causes),
            phrase("{stock}; square to each face.", stock=joined("; ", _off_faces(plan, showing))),
            phrase(
                "The edge comes down {edge_down} and moves back {edge_back}.",
                edge_down=showing.length(plan.edge_down),
                edge_back=showing.length(plan.edge_back),
            ),
        ]
    leaves: list[str] = [
        phrase(
            "Leaves lip height {lip_height_after}, front-lip depth {front_lip_depth_after}",
            lip_height_after=showing.measured(plan.lip_height_after),
            front_lip_depth_after=showing.measured(plan.front_lip_depth_after),
        )
    ]
    if plan.grinds_left is not None:
        leaves.append(
            phrase(
                "grinds like this one left: {grinds_left} (by {limited_by})",
                grinds_left=plan.grinds_left,
                limited_by=plan.limited_by or "",
            )
        )
    lines.append(phrase("{text}.", text=joined("; ", leaves)))
    if plan.standing is not None:
        lines.append(
            phrase(
                "Edge angle {included_angle}; standing in the unit: top clearance {top}, front {front}.",
                included_angle=showing.quantity(plan.included_angle, "angle"),
                top=showing.quantity(plan.standing.top, "angle"),
                front=showing.quantity(plan.standing.front, "angle"),
            )
        )
    rows = tuple(
        (
            o.face,
            showing.length(o.top_stock),
            showing.length(o.front_stock),
            showing.share(o.life_used) if o.life_used <= 1 else phrase("not possible"),
        )
        for o in plan.options
    )
    table = Table(
        (phrase("grind"), phrase("top stock"), phrase("front stock"), phrase("of the life left")),
        rows,
        phrase("The three ways"),
    )
    return Section("knife", phrase("Bedknife"), tuple(lines), (table,), cautions(answer, "knife grind", "deburr")).said(
        showing
    )


def setting(answer: Answer, showing: Showing) -> Section:
    """Bedknife to reel, attitude, height of cut."""
    found = answer.setting
    if isinstance(found, Untold):
        return Section("setting", phrase("Bedknife to reel"), untold(found), (), cautions(answer, "set")).said(showing)
    lines: list[str] = [
        phrase("Set {wanted_gap} all along.", wanted_gap=showing.length(found.wanted_gap)),
        *_click_lines(found, showing),
    ]
    if found.stand_before is not None:
        lines.append(
            phrase(
                "Edge stands {behind_centre} behind centre, {below_centre} below the axis, approach "
                "{approach_angle} (as found)."
                if found.stand_before.behind_centre >= 0
                else "Edge stands {behind_centre} ahead of centre, {below_centre} below the axis, approach "
                "{approach_angle} (as found).",
                behind_centre=showing.length(abs(found.stand_before.behind_centre)),
                below_centre=showing.length(found.stand_before.below_centre),
                approach_angle=showing.quantity(found.stand_before.approach_angle, "angle"),
            )
        )
    if found.attitude is not None:
        lines.append(
            phrase(
                "Brought to the reel as ground: {moved}, top clearance {turn}.",
                moved=_moved(found.attitude.behind_centre, showing),
                turn=_turn(found.attitude.top_clearance, showing),
            )
        )
    lines += [*now_lines(answer, showing), *(plan_lines(answer, showing) or height_lines(found, showing))]
    return Section("setting", phrase("Bedknife to reel"), (*lines, *found.notes), (), cautions(answer, "set")).said(
        showing
    )


def height_lines(found: Setting, showing: Showing) -> tuple[str, ...]:
    """Say what the work does to the height of cut, and how to have the old one back."""
    change = found.height
    if change is None:
        return ()
    rises, raise_it = change.height_change > 0, change.turn_back > 0
    lines: list[str] = [
        phrase(
            "Height of cut rises by {change} through the work as planned."
            if rises
            else "Height of cut falls by {change} through the work as planned.",
            change=showing.length(abs(change.height_change)),
        )
    ]
    if change.turns is not None:
        lines.append(
            phrase(
                "To have the old height back, raise by {turn_back}: {turns} turns of the height adjuster at each end."
                if raise_it
                else "To have the old height back, lower by {turn_back}: {turns} turns of the height adjuster at each end.",
                turn_back=showing.length(abs(change.turn_back)),
                turns=showing.figure(abs(change.turns), 2),
            )
        )
    return tuple(lines)


def _moved(value: float, showing: Showing) -> str:
    if value > 0:
        return phrase("the edge moves {distance} rearward", distance=showing.length(abs(value)))
    return phrase("the edge moves {distance} forward", distance=showing.length(abs(value)))


def _turn(value: float, showing: Showing) -> str:
    angle = showing.quantity(abs(value), "angle")
    return phrase("{angle} more", angle=angle) if value > 0 else phrase("{angle} less", angle=angle)


def divisions(number: float) -> str:
    """Return how many divisions of an adjuster's dial: 'no division', '1 division', '2 divisions'."""
    whole = round(abs(number))
    return counted(whole, "{n} division", "{n} divisions") if whole else phrase("no division")


def clicks(number: int) -> str:
    """Return how many clicks of an adjuster: 'no click', '1 click', '2 clicks'."""
    return counted(number, "{n} click", "{n} clicks") if number else phrase("no click")


def _clicks_at(left: bool, whole: int) -> str:
    """Say what to do at one end's adjuster."""
    number = clicks(abs(whole))
    if whole > 0:
        return phrase("left {clicks} closer", clicks=number) if left else phrase("right {clicks} closer", clicks=number)
    if whole < 0:
        return (
            phrase("left {clicks} more open", clicks=number)
            if left
            else phrase("right {clicks} more open", clicks=number)
        )
    return phrase("left {clicks}", clicks=number) if left else phrase("right {clicks}", clicks=number)


def _click_lines(found: Setting, showing: Showing) -> list[str]:
    lines: list[str] = []
    if found.gap_per_click is not None:
        lines.append(
            phrase(
                "One click of the adjuster moves the gap {gap_per_click}.",
                gap_per_click=showing.length(found.gap_per_click),
            )
        )
    close = found.clicks
    if close is not None:
        sides = (_clicks_at(True, close.left_whole), _clicks_at(False, close.right_whole))
        lines.append(
            phrase(
                "From the gaps read: {sides}; leaves {left} left, {right} right.",
                sides=joined(", ", sides),
                left=showing.length(close.gap_after.left),
                right=showing.length(close.gap_after.right),
            )
        )
        lines.extend(close.notes)
    return lines


def proof(answer: Answer, showing: Showing) -> Section:
    """Paper proofs read as evidence."""
    lines: list[str] = []
    tables = []
    for found in answer.proofs:
        lines += [
            phrase("Paper proof {when}: {sentences}", when=found.when, sentences=found.evidence.sentences[0]),
            *found.evidence.sentences[1:],
            *found.evidence.cautions,
        ]
        rows = tuple(
            (e.words, showing.probability(e.weight)) for e in found.evidence.explanations[:5] if e.weight >= 0.01
        )
        tables.append(Table(("explanation", "weight"), rows, phrase("What the paper says, {when}", when=found.when)))
    if not lines:
        lines = [
            phrase("No paper proof on file: try every blade at the left, centre and right, and enter what happened.")
        ]
    return Section(
        "proof", phrase("Paper proof"), tuple(dict.fromkeys(lines)), tuple(tables), cautions(answer, "prove")
    ).said(showing)
