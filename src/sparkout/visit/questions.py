"""What has to be asked about a visit: slips that are possible, never certain. Nothing is changed here.

The thresholds are own choice (common practice, no source): they decide only whether a question is put.
"""

from __future__ import annotations

import datetime
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterator

from sparkout.core.days import dated
from sparkout.core.phrase import AsTyped, phrase
from sparkout.units import from_core, to_core
from sparkout.visit.entered import LIKELY, Entered
from sparkout.visit.looking import Asking, Look, Placed, allowance, and_more
from sparkout.visit.problems import Path, Question, path_text
from sparkout.visit.quantities import QUANTITIES
from sparkout.visit.questions_of_ends import exchanged
from sparkout.visit.questions_of_gauges import tiny, too_fine, unusual_gauge, without_gauge, without_set_up
from sparkout.visit.schema import Visit
from sparkout.visit.taken import Reading


def questions(
    visit: Visit, today: datetime.date | None = None, line_of: Callable[[Path], int | None] = lambda _: None
) -> tuple[Question, ...]:
    """Return the questions a careful reader would put; without `today` none about dates."""
    look = Look(visit, visit.placed_readings, {gauge.id: gauge for gauge in visit.gauges})
    asked: list[tuple[Path, str]] = []
    for part in (_relief, _limits, without_gauge, without_set_up, _bare, unusual_gauge, too_fine, tiny, _wheel):
        asked += part(look)
    for part in (_larger_than_new, _grown, _slips, _thick_leaves, _twice, exchanged):
        asked += part(look)
    if today is not None:
        asked += _dates(look, today)
    found = [Question(path_text(path), line_of(path), text) for path, text in asked]
    return tuple(sorted(found, key=lambda question: question.line or 0))


def _dates(look: Look, today: datetime.date) -> Asking:
    used = {reading.gauge for _, reading in look.placed}
    for i, gauge in enumerate(look.visit.gauges):
        if gauge.calibration_due is not None and gauge.calibration_due < today and gauge.id in used:
            due = gauge.calibration_due
            yield (
                ("gauges", i, "calibration_due"),
                phrase(
                    "the calibration of '{gauge}' ran out on {due}. Use it all the same?",
                    gauge=AsTyped(gauge.id),
                    due=dated(due),
                ),
            )
    day = look.visit.visit.date
    if day is not None and day > today:
        yield ("visit", "date"), phrase("{day} lies in the future. Is the date right?", day=dated(day))


def _relief(look: Look) -> Asking:
    reel = look.visit.reel
    if reel.relief_angle is not None and reel.relief_from_tangent is None:
        yield (
            ("reel", "relief_angle"),
            phrase(
                "is {relief_angle} measured from the circle's tangent or from the radius? Set relief_datum.",
                relief_angle=reel.relief_angle.text,
            ),
        )


def _limits(look: Look) -> Asking:
    for i, limit in enumerate(look.visit.limits):
        if limit.origin is None:
            yield (
                ("limits", i),
                phrase("where does the limit on {quantity} come from? Set its origin.", quantity=limit.quantity),
            )


def _bare(look: Look) -> Asking:
    if look.visit.visit.units != "inch":
        return
    paths = [path for path, value in _lengths(look) if not value.unit and float(value) != 0.0]
    if paths:
        yield (
            paths[0],
            phrase(
                "{what}, but the visit is in inches. Was that meant? Write the unit.",
                what=and_more(phrase("this number has no unit and counts in mm"), paths),
            ),
        )


def _lengths(look: Look) -> Iterator[tuple[Path, Entered]]:
    """Every length entered in the file that a workshop in inches could have meant in inches."""
    for name in ("reel", "knife", "height", "grinder", "wanted"):
        section = getattr(look.visit, name)
        for key in type(section).model_fields:
            value = getattr(section, key)
            if isinstance(value, Entered) and _is_length(name, key):
                yield (name, key), value
    for path, reading in look.placed:
        if QUANTITIES[reading.of].kind == "length":
            for key in ("value", "goes", "does_not_go"):
                value = getattr(reading, key)
                if value is not None:
                    yield ((*path, key) if path[0] == "readings" else path), value
    for i, limit in enumerate(look.visit.limits):
        for side in ("at_least", "at_most"):
            value = getattr(limit, side)
            if value is not None and QUANTITIES[limit.quantity].kind == "length":
                yield ("limits", i, side), value


def _is_length(section: str, key: str) -> bool:
    from sparkout.visit.asked import Quantity
    from sparkout.visit.fields import declared, model_at

    model = model_at((section,))
    asked = declared(model, key) if model else None
    return isinstance(asked, Quantity) and asked.kind == "length"


def _wheel(look: Look) -> Asking:
    for i, work in enumerate(look.visit.work):
        before, after = work.wheel_diameter_before, work.wheel_diameter_after
        if before is not None and after is not None and after > before:
            yield (
                ("work", i, "wheel_diameter_after"),
                phrase("the wheel grew from {before} to {after}. Exchanged?", before=before.text, after=after.text),
            )


_MORE_THAN_NEW = 1.0
"""mm on diameter."""


def _larger_than_new(look: Look) -> Asking:
    new = look.visit.reel.diameter
    for path, reading in look.placed:
        if reading.of == "diameter" and reading.value is not None and reading.value > new + _MORE_THAN_NEW:
            yield (
                path,
                phrase(
                    "{reading} is larger than the reel when new ({new}). Is one of them wrong?",
                    reading=reading.value.text,
                    new=new.text,
                ),
            )


def _key(look: Look, reading: Reading) -> tuple[object, ...]:
    x = None if reading.at is None else round(reading.at.along(look.visit.reel.length), 3)
    angle = None if reading.angle is None else round(reading.angle, 6)
    return reading.of, reading.gauge, x, reading.blade, reading.which, angle


_MORE_THAN_GROUND = 10.0
"""mm on diameter: more than a grind takes off."""


def _grown(look: Look) -> Asking:
    """A diameter that is larger after the work than before it, or smaller than a grind makes it."""
    found: dict[tuple[object, ...], Reading] = {}
    for _, reading in look.placed:
        if reading.of == "diameter" and reading.when == "as found" and reading.value is not None:
            found[_key(look, reading)] = reading
    for path, reading in look.placed:
        before = found.get(_key(look, reading))
        if reading.when == "as left" and before is not None and reading.value is not None and before.value is not None:
            more = reading.value - before.value
            if more > allowance(look, reading):
                text = phrase(
                    "as left {reading} is larger than as found {before}. Exchanged?",
                    reading=reading.value.text,
                    before=before.value.text,
                )
                yield path, text
            elif -more > _MORE_THAN_GROUND:
                text = phrase(
                    "as left {reading} is {less} smaller than as found {before}. Is it right?",
                    reading=AsTyped(reading.value.text),
                    less=f"{-more:.3g} mm",
                    before=AsTyped(before.value.text),
                )
                yield path, text


def _twice(look: Look) -> Asking:
    """The same thing read twice with results far apart."""
    first: dict[tuple[object, ...], Reading] = {}
    for path, reading in look.placed:
        if reading.value is None or reading.of == "adjuster count":
            continue
        key = (*_key(look, reading), reading.when, reading.set_up)
        before = first.setdefault(key, reading)
        if before.value is None or QUANTITIES[reading.of].kind != "length" or reading.at is None:
            continue
        if abs(reading.value - before.value) > 2.0 * allowance(look, reading):
            yield (
                path,
                phrase(
                    "{reading} here, {before} at the same place before. Which holds?",
                    reading=reading.value.text,
                    before=before.value.text,
                ),
            )


_FAR = 5.0
_FAR_ABOVE = 15.0
_LEVEL = {
    "diameter", "land", "lip height", "front lip depth", "top angle", "front angle", "height of cut", "roller diameter",
}  # fmt: skip
"""What has about one size wherever it is read; all else may honestly be near zero in one place."""


def _slips(look: Look) -> Asking:
    """A value far from its neighbours, or from the part as specified, that would fit in another unit."""
    groups: dict[tuple[object, ...], list[Placed]] = defaultdict(list)
    for path, reading in look.placed:
        if reading.value is not None:
            gauge = reading.gauge if reading.of == "diameter" else None  # each shows another diameter of one reel
            groups[reading.of, gauge, reading.when, reading.which].append((path, reading))
    for placed in groups.values():
        values = sorted(abs(float(reading.value or 0.0)) for _, reading in placed)
        for path, reading in placed:
            if reading.value is not None and reading.of in _LEVEL:
                usual = _median_without(values, abs(reading.value)) if len(values) > 2 else _as_specified(look, reading)
                yield from _off_level(path, reading.value, reading.of, usual)
            elif reading.value is not None and len(values) > 2 and not reading.value.unit:
                most = values[-2] if abs(reading.value) == values[-1] else values[-1]
                if abs(reading.value) > _FAR_ABOVE * most > 0.0:
                    yield from _in_another_unit(path, reading.value, reading.of, 0.0, 4.0 * most)


def _median_without(ordered: list[float], one: float) -> float:
    """Return the median of the ordered values when `one` of them is left out."""
    gone = bisect_left(ordered, one)
    low, high = (k + (k >= gone) for k in ((len(ordered) - 2) // 2, (len(ordered) - 1) // 2))
    return (ordered[low] + ordered[high]) / 2


def _off_level(path: Path, value: Entered, of: str, usual: float | None) -> Asking:
    if not usual:
        return
    if not usual / _FAR <= value <= usual * _FAR:
        yield from _in_another_unit(path, value, of, usual / 2, usual * 2)
    elif of == "diameter" and abs(value - usual) > 5.0:
        yield (
            path,
            phrase(
                "{value} is {distance:.3g} mm from the others. Is it right?",
                value=value.text,
                distance=abs(value - usual),
            ),
        )


def _in_another_unit(path: Path, value: Entered, of: str, low: float, high: float) -> Asking:
    entry = QUANTITIES[of]
    for unit in LIKELY.get(entry.kind, ()):
        meant = to_core(value.number, entry.kind, unit)
        if low <= abs(meant) <= high and abs(meant) != abs(value):
            there = from_core(meant, entry.kind, entry.unit)
            meaning = f"{value.number:g} {unit} ({there:.4g} {entry.unit})"
            yield (
                path,
                phrase("{value} is far from the others. Did you mean {meaning}?", value=value.text, meaning=meaning),
            )
            return


_THICK_LEAF = 1.0
"""mm; thicker leaves are rare in a set."""
_THIN_LEAF = 0.01
"""mm; thinner leaves are not made (common practice, no source)."""


def _thick_leaves(look: Look) -> Asking:
    for path, reading in look.placed:
        for key, leaf in (("goes", reading.goes), ("does_not_go", reading.does_not_go)):
            if leaf is not None and leaf >= _THICK_LEAF and not leaf.unit:
                thou = to_core(leaf.number, "length", "thou")
                text = phrase(
                    "a leaf of {leaf} mm is thick. Did you mean {leaf} thou ({thou:.4g} mm)? Write the unit.",
                    leaf=leaf.text,
                    thou=thou,
                )
                yield (*path, key), text
            elif leaf is not None and 0.0 < leaf < _THIN_LEAF:
                meant = f"{leaf.number:g} {'in' if leaf.unit in ('', 'mm') else 'mm'}"
                yield (
                    (*path, key),
                    phrase(
                        "a leaf of {leaf} is thinner than leaves are made. Did you mean {meant}?",
                        leaf=leaf.text,
                        meant=meant,
                    ),
                )


def _as_specified(look: Look, reading: Reading) -> float | None:
    roller = {"front": look.visit.height.front_roller_diameter, "rear": look.visit.height.rear_roller_diameter}
    specified = {
        "land": look.visit.reel.land,
        "lip height": look.visit.knife.lip_height,
        "front lip depth": look.visit.knife.front_lip_depth,
        "top angle": look.visit.knife.top_angle,
        "front angle": look.visit.knife.front_angle,
        "height of cut": look.visit.height.of_cut,
        "roller diameter": roller.get(reading.which or ""),
    }
    return specified.get(reading.of)
