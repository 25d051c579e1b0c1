"""What has to be asked about a visit: slips that are possible, never certain. Nothing is changed here.

The thresholds are own choice (common practice, no source): they decide only whether a question is put.
"""

from __future__ import annotations

import datetime
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations, islice
from statistics import fmean

from sparkout.core.days import dated
from sparkout.core.gauges.instrument import USUAL_REPEATABILITY
from sparkout.core.phrase import AsTyped, phrase
from sparkout.units import from_core, to_core
from sparkout.visit.entered import LIKELY, Entered
from sparkout.visit.problems import Path, Question, path_text
from sparkout.visit.quantities import QUANTITIES, gauge_shows
from sparkout.visit.schema import Visit
from sparkout.visit.sections import GaugeEntry
from sparkout.visit.taken import Reading

Asking = Iterator[tuple[Path, str]]
Placed = tuple[Path, Reading]


@dataclass(frozen=True, slots=True)
class _Look:
    """The visit with what every part below looks at, made once."""

    visit: Visit
    placed: tuple[Placed, ...]
    gauges: dict[str, GaugeEntry]


def questions(
    visit: Visit, today: datetime.date | None = None, line_of: Callable[[Path], int | None] = lambda _: None
) -> tuple[Question, ...]:
    """Return the questions a careful reader would put; without `today` none about dates."""
    look = _Look(visit, visit.placed_readings, {gauge.id: gauge for gauge in visit.gauges})
    asked: list[tuple[Path, str]] = []
    for part in (_relief, _limits, _without_gauge, _without_set_up, _bare, _unusual_gauge, _too_fine, _tiny, _wheel):
        asked += part(look)
    for part in (_larger_than_new, _grown, _slips, _thick_leaves, _twice, _exchanged):
        asked += part(look)
    if today is not None:
        asked += _dates(look, today)
    found = [Question(path_text(path), line_of(path), text) for path, text in asked]
    return tuple(sorted(found, key=lambda question: question.line or 0))


def _length(look: _Look, value: float) -> str:
    return f"{value / 25.4:.3g} in" if look.visit.visit.units == "inch" else f"{value:.3g} mm"


def _and_more(what: str, paths: list[Path]) -> str:
    """Return what was found, with how many more there are like it."""
    rest = len(paths) - 1
    return phrase("{what} (and {rest} more like it)", what=what, rest=rest) if rest else what


def _dates(look: _Look, today: datetime.date) -> Asking:
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


def _relief(look: _Look) -> Asking:
    reel = look.visit.reel
    if reel.relief_angle is not None and reel.relief_from_tangent is None:
        yield (
            ("reel", "relief_angle"),
            phrase(
                "is {relief_angle} measured from the circle's tangent or from the radius? Set relief_datum.",
                relief_angle=reel.relief_angle.text,
            ),
        )


def _limits(look: _Look) -> Asking:
    for i, limit in enumerate(look.visit.limits):
        if limit.origin is None:
            yield (
                ("limits", i),
                phrase("where does the limit on {quantity} come from? Set its origin.", quantity=limit.quantity),
            )


def _without_gauge(look: _Look) -> Asking:
    paths = [path for path, reading in look.placed if reading.gauge is None and QUANTITIES[reading.of].gauges]
    if paths:
        yield (
            paths[0],
            phrase(
                "{what}; its uncertainty is then a guess. Which was it?",
                what=_and_more(phrase("no gauge is named"), paths),
            ),
        )


def _without_set_up(look: _Look) -> Asking:
    zeroed = ("run-out", "shaft", "frame", "knife straightness")
    paths: list[Path] = [
        ("readings", i)
        for i, reading in enumerate(look.visit.readings)
        if reading.of in zeroed and reading.set_up is None
    ]
    if len(paths) > 1:
        yield (
            paths[0],
            phrase("{what}. Did all these share one zero?", what=_and_more(phrase("no set_up is named"), paths)),
        )


def _bare(look: _Look) -> Asking:
    if look.visit.visit.units != "inch":
        return
    paths = [path for path, value in _lengths(look) if not value.unit and float(value) != 0.0]
    if paths:
        yield (
            paths[0],
            phrase(
                "{what}, but the visit is in inches. Was that meant? Write the unit.",
                what=_and_more(phrase("this number has no unit and counts in mm"), paths),
            ),
        )


def _lengths(look: _Look) -> Iterator[tuple[Path, Entered]]:
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


def _unusual_gauge(look: _Look) -> Asking:
    seen = set()
    for path, reading in look.placed:
        gauge, usual = look.gauges.get(reading.gauge or ""), QUANTITIES[reading.of].gauges
        if gauge is not None and usual and gauge.kind not in usual and (gauge.kind, reading.of) not in seen:
            seen.add((gauge.kind, reading.of))
            yield (
                path,
                phrase(
                    "{quantity} is seldom read with a gauge of kind '{kind}'. Is the gauge right?",
                    quantity=reading.of,
                    kind=AsTyped(gauge.kind),
                ),
            )


_ESTIMATED = 10.0
"""A reading between two marks is taken at most to a tenth of their distance."""


def _too_fine(look: _Look) -> Asking:
    found: dict[str, list[Placed]] = defaultdict(list)
    for path, reading in look.placed:
        gauge = look.gauges.get(reading.gauge or "")
        if gauge is not None and gauge.resolution and reading.value is not None:
            usual = gauge_shows(gauge.kind)[1]
            tenths = reading.value / gauge.resolution * _ESTIMATED
            between = abs(tenths - round(tenths)) > 1e-6 * max(1.0, abs(tenths))
            if between and (reading.value.unit or usual) == (gauge.resolution.unit or usual):
                found[gauge.id].append((path, reading))
    for name, placed in found.items():
        path, reading = placed[0]
        step, text = (getattr(typed, "text", "") for typed in (look.gauges[name].resolution, reading.value))
        yield (
            path,
            phrase(
                "{what}. Is it right?",
                what=_and_more(
                    phrase(
                        "'{name}' shows steps of {step}; {reading} is finer than it can be read",
                        name=AsTyped(name),
                        step=step,
                        reading=text,
                    ),
                    [p for p, _ in placed],
                ),
            ),
        )


_UNSEEN = 0.1
"""Of what a gauge tells apart: so little it does not show."""
_NEXT_UNIT = {"thou": "in", "µm": "mm"}


def _tiny(look: _Look) -> Asking:
    """A reading next to nothing, such as .002 beside a box that counts in thou: .002 in, as dials are marked."""
    found: dict[str, list[Placed]] = defaultdict(list)
    for path, reading in look.placed:
        entry = QUANTITIES[reading.of]
        if entry.kind != "length" or not entry.gauges or reading.value is None:
            continue
        if 0.0 < abs(reading.value) < _UNSEEN * _finest(look, reading):
            found[reading.of].append((path, reading))
    for placed in found.values():
        path, value = placed[0][0], placed[0][1].value
        assert value is not None
        meant = AsTyped(f"{value.number:g} {_NEXT_UNIT.get(value.unit, 'in')}")
        less = phrase("{value} is less than any gauge for it shows", value=AsTyped(value.text))
        yield (
            path,
            phrase("{what}. Did you mean {meant}?", what=_and_more(less, [p for p, _ in placed]), meant=meant),
        )


def _finest(look: _Look, reading: Reading) -> float:
    """Return what the gauge of a reading tells apart, mm: its own figures, else what is usual of its kind."""
    gauge = look.gauges.get(reading.gauge or "")
    if gauge is None:
        return min(USUAL_REPEATABILITY[kind] for kind in QUANTITIES[reading.of].gauges)
    own = [float(said) for said in (gauge.resolution, gauge.repeatability) if said]
    return min([*own, USUAL_REPEATABILITY[gauge.kind]])


def _wheel(look: _Look) -> Asking:
    for i, work in enumerate(look.visit.work):
        before, after = work.wheel_diameter_before, work.wheel_diameter_after
        if before is not None and after is not None and after > before:
            yield (
                ("work", i, "wheel_diameter_after"),
                phrase("the wheel grew from {before} to {after}. Exchanged?", before=before.text, after=after.text),
            )


_MORE_THAN_NEW = 1.0
"""mm on diameter."""


def _larger_than_new(look: _Look) -> Asking:
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


def _key(look: _Look, reading: Reading) -> tuple[object, ...]:
    x = None if reading.at is None else round(reading.at.along(look.visit.reel.length), 3)
    angle = None if reading.angle is None else round(reading.angle, 6)
    return reading.of, reading.gauge, x, reading.blade, reading.which, angle


_MORE_THAN_GROUND = 10.0
"""mm on diameter: more than a grind takes off."""


def _grown(look: _Look) -> Asking:
    """A diameter that is larger after the work than before it, or smaller than a grind makes it."""
    found: dict[tuple[object, ...], Reading] = {}
    for _, reading in look.placed:
        if reading.of == "diameter" and reading.when == "as found" and reading.value is not None:
            found[_key(look, reading)] = reading
    for path, reading in look.placed:
        before = found.get(_key(look, reading))
        if reading.when == "as left" and before is not None and reading.value is not None and before.value is not None:
            more = reading.value - before.value
            if more > _allowance(look, reading):
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


def _allowance(look: _Look, reading: Reading) -> float:
    """How far two readings of one thing may differ without a question: three of its steps or standard deviations."""
    gauge = look.gauges.get(reading.gauge or "")
    if gauge is None:
        return 0.5
    spread = USUAL_REPEATABILITY[gauge.kind] if gauge.repeatability is None else float(gauge.repeatability)
    return 3.0 * max(float(gauge.resolution or 0.0), spread)


def _twice(look: _Look) -> Asking:
    """The same thing read twice with results far apart."""
    first: dict[tuple[object, ...], Reading] = {}
    for path, reading in look.placed:
        if reading.value is None or reading.of == "adjuster count":
            continue
        key = (*_key(look, reading), reading.when, reading.set_up)
        before = first.setdefault(key, reading)
        if before.value is None or QUANTITIES[reading.of].kind != "length" or reading.at is None:
            continue
        if abs(reading.value - before.value) > 2.0 * _allowance(look, reading):
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


def _slips(look: _Look) -> Asking:
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


def _thick_leaves(look: _Look) -> Asking:
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


def _as_specified(look: _Look, reading: Reading) -> float | None:
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


@dataclass(frozen=True, slots=True)
class _Cone:
    """A rough cone on diameter, right less left, from the readings of one gauge."""

    words: str
    path: Path
    value: float
    doubt: float


def _exchanged(look: _Look) -> Asking:
    """Two gauges that find cones of like size and opposite sign: left and right exchanged, perhaps."""
    for one, other in combinations(islice(_cones(look), _MOST_CONES), 2):
        alike = 1 / 3 < abs(one.value / other.value) < 3
        sure = abs(one.value) > one.doubt and abs(other.value) > other.doubt
        if one.value * other.value < 0 and alike and sure:
            yield (
                other.path,
                phrase(
                    "{other}, but {one}. Were left and right exchanged in one of them? If not, the frame "
                    "or the knife may be out: keep both.",
                    other=_cone_words(look, other),
                    one=_cone_words(look, one),
                ),
            )


_MOST_CONES = 30


def _cone_words(look: _Look, cone: _Cone) -> str:
    return phrase(
        "{reading} the right end larger by {length} on diameter"
        if cone.value > 0
        else "{reading} the left end larger by {length} on diameter",
        reading=cone.words,
        length=_length(look, abs(cone.value)),
    )


def _cones(look: _Look) -> Iterator[_Cone]:
    groups: dict[tuple[str, str], list[Placed]] = defaultdict(list)
    for path, reading in look.placed:
        if reading.when == "as found" and reading.at is not None:
            if reading.of in ("diameter", "rest gap"):
                groups[reading.of, reading.gauge or ""].append((path, reading))
            elif reading.of == "run-out":
                groups[reading.of, reading.set_up or ""].append((path, reading))
    for (of, name), placed in groups.items():
        on_diameter = {"diameter": 1.0, "rest gap": -2.0, "run-out": 2.0}[of]
        difference = _end_to_end(look, placed)
        if difference:
            words = {
                "diameter": phrase("the diameters read with '{name}' make", name=AsTyped(name)),
                "rest gap": phrase("the rest gap makes"),
            }
            said = words.get(
                of, phrase("the dial ({set_up}) makes", set_up=AsTyped(name) if name else phrase("no set-up named"))
            )
            doubt = abs(on_diameter) * _allowance(look, placed[0][1])
            yield _Cone(said, placed[0][0], on_diameter * difference, doubt)


def _end_to_end(look: _Look, placed: Iterable[Placed]) -> float | None:
    """Mean at the rightmost station less mean at the leftmost, carried to the whole length; None when too close."""
    at: dict[float, list[float]] = defaultdict(list)
    for _, reading in placed:
        value = _middle(reading)
        if value is not None and reading.at is not None:
            at[reading.at.along(look.visit.reel.length)].append(value)
    if not at or max(at) - min(at) < 0.3 * look.visit.reel.length:
        return None
    return (fmean(at[max(at)]) - fmean(at[min(at)])) * look.visit.reel.length / (max(at) - min(at))


def _middle(reading: Reading) -> float | None:
    leaves = [float(leaf) for leaf in (reading.goes, reading.does_not_go) if leaf is not None]
    return float(reading.value) if reading.value is not None else (fmean(leaves) if len(leaves) == 2 else None)
