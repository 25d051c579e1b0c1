"""What has to be asked about a visit: slips that are possible, never certain. Nothing is changed here.

The thresholds are own choice (common practice, no source): they decide only whether a question is put.
"""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from statistics import fmean, median

from sparkout.units import from_core, to_core
from sparkout.visit.entered import LIKELY, Entered
from sparkout.visit.problems import Path, Question, path_text
from sparkout.visit.quantities import QUANTITIES, gauge_shows
from sparkout.visit.schema import Visit
from sparkout.visit.taken import Reading

Asking = Iterator[tuple[Path, str]]
Placed = tuple[Path, Reading]


def questions(
    visit: Visit, today: datetime.date | None = None, line_of: Callable[[Path], int | None] = lambda _: None
) -> tuple[Question, ...]:
    """Return the questions a careful reader would put; without `today` none about dates."""
    asked: list[tuple[Path, str]] = []
    for part in (_relief, _limits, _without_gauge, _without_set_up, _bare, _unusual_gauge, _too_fine, _wheel):
        asked += part(visit)
    for part in (_larger_than_new, _grown, _slips, _twice, _exchanged):
        asked += part(visit)
    if today is not None:
        asked += _dates(visit, today)
    return tuple(Question(path_text(path), line_of(path), text) for path, text in asked)


def _length(visit: Visit, value: float) -> str:
    return f"{value / 25.4:.3g} in" if visit.visit.units == "inch" else f"{value:.3g} mm"


def _number_words(paths: list[Path]) -> str:
    rest = len(paths) - 1
    return f" (and {rest} more like it)" if rest else ""


def _dates(visit: Visit, today: datetime.date) -> Asking:
    used = {reading.gauge for _, reading in visit.placed_readings}
    for i, gauge in enumerate(visit.gauges):
        if gauge.calibration_due is not None and gauge.calibration_due < today and gauge.id in used:
            due = gauge.calibration_due.isoformat()
            yield (
                ("gauges", i, "calibration_due"),
                f"the calibration of '{gauge.id}' ran out on {due}. Use it all the same?",
            )
    day = visit.visit.date
    if day is not None and day > today:
        yield ("visit", "date"), f"{day.isoformat()} lies in the future. Is the date right?"


def _relief(visit: Visit) -> Asking:
    reel = visit.reel
    if reel.relief_angle is not None and reel.relief_from_tangent is None:
        yield (
            ("reel", "relief_angle"),
            f"is {reel.relief_angle.text} measured from the circle's tangent or from the radius? Set relief_datum.",
        )


def _limits(visit: Visit) -> Asking:
    for i, limit in enumerate(visit.limits):
        if limit.origin is None:
            yield ("limits", i), f"where does the limit on {limit.quantity} come from? Set its origin."


def _without_gauge(visit: Visit) -> Asking:
    paths = [
        path for path, reading in visit.placed_readings if reading.gauge is None and reading.of != "adjuster count"
    ]
    if paths:
        yield paths[0], f"no gauge is named{_number_words(paths)}; its uncertainty is then a guess. Which was it?"


def _without_set_up(visit: Visit) -> Asking:
    zeroed = ("run-out", "shaft", "frame", "knife straightness")
    paths: list[Path] = [
        ("readings", i) for i, reading in enumerate(visit.readings) if reading.of in zeroed and reading.set_up is None
    ]
    if len(paths) > 1:
        yield paths[0], f"no set_up is named{_number_words(paths)}. Did all these share one zero?"


def _bare(visit: Visit) -> Asking:
    if visit.visit.units != "inch":
        return
    paths = [path for path, value in _lengths(visit) if not value.unit and float(value) != 0.0]
    if paths:
        yield (
            paths[0],
            f"this number has no unit and counts in mm{_number_words(paths)}, but the visit is in inches. "
            "Was that meant? Write the unit.",
        )


def _lengths(visit: Visit) -> Iterator[tuple[Path, Entered]]:
    """Every length entered in the file that a workshop in inches could have meant in inches."""
    for name in ("reel", "knife", "height", "grinder", "wanted"):
        section = getattr(visit, name)
        for key in type(section).model_fields:
            value = getattr(section, key)
            if isinstance(value, Entered) and _is_length(name, key):
                yield (name, key), value
    for path, reading in visit.placed_readings:
        if QUANTITIES[reading.of].kind == "length":
            for key in ("value", "goes", "does_not_go"):
                value = getattr(reading, key)
                if value is not None:
                    yield ((*path, key) if path[0] == "readings" else path), value
    for i, limit in enumerate(visit.limits):
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


def _unusual_gauge(visit: Visit) -> Asking:
    kinds = {gauge.id: gauge.kind for gauge in visit.gauges}
    seen = set()
    for path, reading in visit.placed_readings:
        kind, usual = kinds.get(reading.gauge or ""), QUANTITIES[reading.of].gauges
        if kind is not None and usual and kind not in usual and (kind, reading.of) not in seen:
            seen.add((kind, reading.of))
            yield path, f"{reading.of} is seldom read with a gauge of kind '{kind}'. Is the gauge right?"


_ESTIMATED = 10.0
"""A reading between two marks is taken at most to a tenth of their distance."""


def _too_fine(visit: Visit) -> Asking:
    gauges = {gauge.id: gauge for gauge in visit.gauges if gauge.resolution}
    found: dict[str, list[Placed]] = defaultdict(list)
    for path, reading in visit.placed_readings:
        gauge = gauges.get(reading.gauge or "")
        if gauge is not None and gauge.resolution and reading.value is not None:
            usual = gauge_shows(gauge.kind)[1]
            tenths = reading.value / gauge.resolution * _ESTIMATED
            between = abs(tenths - round(tenths)) > 1e-6 * max(1.0, abs(tenths))
            if between and (reading.value.unit or usual) == (gauge.resolution.unit or usual):
                found[gauge.id].append((path, reading))
    for name, placed in found.items():
        path, reading = placed[0]
        more = _number_words([p for p, _ in placed])
        step, text = (getattr(typed, "text", "") for typed in (gauges[name].resolution, reading.value))
        yield path, f"'{name}' shows steps of {step}; {text} is finer than it can be read{more}. Is it right?"


def _wheel(visit: Visit) -> Asking:
    for i, work in enumerate(visit.work):
        before, after = work.wheel_diameter_before, work.wheel_diameter_after
        if before is not None and after is not None and after > before:
            yield ("work", i, "wheel_diameter_after"), f"the wheel grew from {before.text} to {after.text}. Exchanged?"


_MORE_THAN_NEW = 1.0
"""mm on diameter."""


def _larger_than_new(visit: Visit) -> Asking:
    new = visit.reel.diameter
    for path, reading in visit.placed_readings:
        if reading.of == "diameter" and reading.value is not None and reading.value > new + _MORE_THAN_NEW:
            yield path, f"{reading.value.text} is larger than the reel when new ({new.text}). Is one of them wrong?"


def _key(visit: Visit, reading: Reading) -> tuple[object, ...]:
    x = None if reading.at is None else round(reading.at.along(visit.reel.length), 3)
    angle = None if reading.angle is None else round(reading.angle, 6)
    return reading.of, reading.gauge, x, reading.blade, reading.which, angle


def _grown(visit: Visit) -> Asking:
    """A diameter that is larger after the work than before it."""
    found: dict[tuple[object, ...], Reading] = {}
    for _, reading in visit.placed_readings:
        if reading.of == "diameter" and reading.when == "as found" and reading.value is not None:
            found[_key(visit, reading)] = reading
    for path, reading in visit.placed_readings:
        before = found.get(_key(visit, reading))
        if reading.when == "as left" and before is not None and reading.value is not None and before.value is not None:
            more = reading.value - before.value
            if more > _allowance(visit, reading):
                text = f"as left {reading.value.text} is larger than as found {before.value.text}. Exchanged?"
                yield path, text


_USUAL_STEP = {"tape": 0.5, "jaws": 0.05, "chord": 0.05, "dial": 0.01, "feeler": 0.05, "scale": 0.5}


def _allowance(visit: Visit, reading: Reading) -> float:
    """How far two readings of one thing may differ without a question: some steps of the gauge."""
    gauge = next((gauge for gauge in visit.gauges if gauge.id == reading.gauge), None)
    if gauge is None:
        return 0.5
    step = gauge.resolution if gauge.resolution else _USUAL_STEP.get(gauge.kind, 0.1)
    return 3.0 * max(float(step), float(gauge.repeatability or 0.0))


def _twice(visit: Visit) -> Asking:
    """The same thing read twice with results far apart."""
    first: dict[tuple[object, ...], Reading] = {}
    for path, reading in visit.placed_readings:
        if reading.value is None or reading.of == "adjuster count":
            continue
        key = (*_key(visit, reading), reading.when, reading.set_up)
        before = first.setdefault(key, reading)
        if before.value is None or QUANTITIES[reading.of].kind != "length" or reading.at is None:
            continue
        if abs(reading.value - before.value) > 2.0 * _allowance(visit, reading):
            yield path, f"{reading.value.text} here, {before.value.text} at the same place before. Which holds?"


_FAR = 5.0
_FAR_SIGNED = 15.0


def _slips(visit: Visit) -> Asking:
    """A value far from its neighbours, or from the part as specified, that would fit in another unit."""
    groups: dict[tuple[object, ...], list[Placed]] = defaultdict(list)
    for path, reading in visit.placed_readings:
        if reading.value is not None:
            groups[reading.of, reading.when, reading.which].append((path, reading))
    for placed in groups.values():
        values = [abs(float(reading.value or 0.0)) for _, reading in placed]
        for i, (path, reading) in enumerate(placed):
            others = values[:i] + values[i + 1 :]
            usual = median(others) if len(others) >= 2 else _as_specified(visit, reading)
            if usual and reading.value is not None:
                yield from _slip(path, reading.value, reading.of, usual)


def _slip(path: Path, value: Entered, of: str, usual: float) -> Asking:
    entry = QUANTITIES[of]
    signed = entry.low < 0
    ratio = abs(value) / usual
    far = ratio > _FAR_SIGNED if signed else (ratio > _FAR or ratio < 1 / _FAR)
    if far:
        low, high = (0.0, 4 * usual) if signed else (usual / 2, usual * 2)
        for unit in LIKELY.get(entry.kind, ()):
            meant = to_core(value.number, entry.kind, unit)
            if low <= abs(meant) <= high and abs(meant) != abs(value):
                there = from_core(meant, entry.kind, entry.unit)
                meaning = f"{value.number:g} {unit} ({there:.4g} {entry.unit})"
                yield path, f"{value.text} is far from the others. Did you mean {meaning}?"
                return
    if of == "diameter" and abs(value - usual) > 5.0:
        yield path, f"{value.text} is {abs(value - usual):.3g} mm from the others. Is it right?"


def _as_specified(visit: Visit, reading: Reading) -> float | None:
    roller = {"front": visit.height.front_roller_diameter, "rear": visit.height.rear_roller_diameter}
    specified = {
        "land": visit.reel.land,
        "lip height": visit.knife.lip_height,
        "front lip depth": visit.knife.front_lip_depth,
        "top angle": visit.knife.top_angle,
        "front angle": visit.knife.front_angle,
        "height of cut": visit.height.of_cut,
        "roller diameter": roller.get(reading.which or ""),
    }
    return specified.get(reading.of)


@dataclass(frozen=True, slots=True)
class _Cone:
    """A rough cone on diameter, right less left, from the readings of one gauge."""

    words: str
    path: Path
    value: float
    doubt: float


def _exchanged(visit: Visit) -> Asking:
    """Two gauges that find cones of like size and opposite sign: left and right exchanged, perhaps."""
    found = list(_cones(visit))
    for i, one in enumerate(found):
        for other in found[i + 1 :]:
            alike = 1 / 3 < abs(one.value / other.value) < 3
            sure = abs(one.value) > one.doubt and abs(other.value) > other.doubt
            if one.value * other.value < 0 and alike and sure:
                yield (
                    other.path,
                    f"{_cone_words(visit, other)}, but {_cone_words(visit, one)}. Were left and right exchanged in "
                    "one of them? If not, the frame or the knife may be out: keep both.",
                )


def _cone_words(visit: Visit, cone: _Cone) -> str:
    end = "right" if cone.value > 0 else "left"
    return f"{cone.words} the {end} end larger by {_length(visit, abs(cone.value))} on diameter"


def _cones(visit: Visit) -> Iterator[_Cone]:
    groups: dict[tuple[str, str], list[Placed]] = defaultdict(list)
    for path, reading in visit.placed_readings:
        if reading.when == "as found" and reading.at is not None:
            if reading.of in ("diameter", "rest gap"):
                groups[reading.of, reading.gauge or ""].append((path, reading))
            elif reading.of == "run-out":
                groups[reading.of, reading.set_up or ""].append((path, reading))
    for (of, name), placed in groups.items():
        on_diameter = {"diameter": 1.0, "rest gap": -2.0, "run-out": 2.0}[of]
        difference = _end_to_end(visit, placed)
        if difference:
            words = {"diameter": f"the diameters read with '{name}' make", "rest gap": "the rest gap makes"}
            said = words.get(of, f"the dial ({name or 'no set-up named'}) makes")
            doubt = abs(on_diameter) * _allowance(visit, placed[0][1])
            yield _Cone(said, placed[0][0], on_diameter * difference, doubt)


def _end_to_end(visit: Visit, placed: Iterable[Placed]) -> float | None:
    """Mean at the rightmost station less mean at the leftmost, carried to the whole length; None when too close."""
    at: dict[float, list[float]] = defaultdict(list)
    for _, reading in placed:
        value = _middle(reading)
        if value is not None and reading.at is not None:
            at[reading.at.along(visit.reel.length)].append(value)
    if not at or max(at) - min(at) < 0.3 * visit.reel.length:
        return None
    return (fmean(at[max(at)]) - fmean(at[min(at)])) * visit.reel.length / (max(at) - min(at))


def _middle(reading: Reading) -> float | None:
    leaves = [float(leaf) for leaf in (reading.goes, reading.does_not_go) if leaf is not None]
    return float(reading.value) if reading.value is not None else (fmean(leaves) if len(leaves) == 2 else None)
