"""Every reading next to what it means after its gauge's model, and as an observation of the reel."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from importlib import import_module
from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.core.gauges.feeler import gap_from_leaves
from sparkout.core.gauges.instrument import Instrument, at_reference, reading_u, shared_u
from sparkout.core.measured import Measured
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.core.reel.candidates import RAIL_U
from sparkout.core.reel.observations import Observation
from sparkout.reckoning.given import PRACTICE
from sparkout.visit.quantities import QUANTITIES

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sparkout.reckoning.given import Given
    from sparkout.visit.taken import Reading, When

OBSERVED = {
    "diameter": "radius",
    "run-out": "run-out",
    "rest gap": "rest gap",
    "shaft": "shaft",
    "frame": "frame",
    "knife straightness": "knife",
}
GAUGE_WORDS = {
    "tape": phrase("circumference tape"),
    "jaws": phrase("flat jaws"),
    "chord": phrase("tip-to-tip caliper"),
    "dial": phrase("dial indicator"),
    "feeler": phrase("feeler leaves"),
}

WHY = {
    "tape": phrase("A tape spans the blades in straight lines, so it shows less than the diameter over the edges."),
    "jaws": phrase("Flat jaws on an odd reel touch one edge and the two across, so they show less than the diameter."),
    "chord": phrase("Across an odd reel no two tips are opposite, so tip to tip is less than the diameter."),
}


@dataclass(frozen=True, slots=True)
class Meaning:
    """One reading as taken, and what it says: `quantity` as `measured`, why it differs from what the gauge shows."""

    path: str
    label: str
    of: str
    gauge: str
    shown: str
    when: str
    kind: str
    quantity: str
    measured: Measured
    interval: tuple[float, float] | None
    why: str
    x: float | None
    blade: int | None
    angle: float | None
    place: str = ""
    """Where, in words; `label` is the quantity and this."""


NEXT_LEAF = phrase("half as thick again, 0.05 mm at least,")
"""What stands in, in words, for a leaf that does not go when none was entered."""


def place_words(reading: Reading, length: float) -> str:
    """Return where a reading was taken, in words."""
    x = None if reading.at is None else reading.at.along(length)
    return _place(x, reading.blade, reading.angle, reading.which, length)


def label(reading: Reading, length: float) -> str:
    """Return what a reading is of and where, in words."""
    return _label(reading.of, place_words(reading, length))


@lru_cache(2048)
def _place(x: float | None, blade: int | None, angle: float | None, which: str | None, length: float) -> str:
    """Remembered: a reel's places are few, and every part of an answer names them."""
    parts: list[str] = []
    if x is not None:
        ends = {0.0: phrase("left end"), length / 2: phrase("centre"), length: phrase("right end")}
        parts.append(ends.get(x) or phrase("{x:g} mm from the left", x=round(x, 1)))
    if blade is not None:
        parts.append(phrase("blade {blade}", blade=blade))
    if angle is not None:
        parts.append(f"{math.degrees(angle):.0f}°")
    if which is not None:
        parts.append(phrase("front roller") if which == "front" else phrase("rear roller"))
    return joined(", ", parts)


@lru_cache(2048)
def _label(of: str, place: str) -> str:
    return joined(" ", (of, place)) if place else of


def gauge_words(instrument: Instrument) -> str:
    """Return a gauge by the word people use for its kind, with its own name."""
    kind = GAUGE_WORDS.get(instrument.kind, instrument.kind)
    return phrase("{gauge} ({name})", gauge=kind, name=AsTyped(instrument.name))


def shown_text(reading: Reading) -> str:
    """Return what the gauge showed, as typed."""
    if reading.value is not None:
        typed = AsTyped(reading.value.text)
        return typed if reading.value.unit else phrase("{number} (no unit typed)", number=typed)
    told = phrase("nothing goes") if reading.goes is None else phrase("{leaf} goes", leaf=AsTyped(reading.goes.text))
    if reading.does_not_go is None:
        return told
    return joined(", ", (told, phrase("{leaf} does not", leaf=AsTyped(reading.does_not_go.text))))


def read_gap(reading: Reading, leaf_u: float) -> Measured:
    """Return a gap read with leaves (or told as one value) with its uncertainty."""
    if reading.value is not None:
        return Measured(float(reading.value), leaf_u)
    goes = float(reading.goes or 0.0)
    if reading.does_not_go is None:
        # Only the leaf that goes is known: the gap is that or more; NEXT_LEAF tells what stands in for the other.
        return gap_from_leaves(goes, goes + max(0.05, 0.5 * goes), leaf_u)
    return gap_from_leaves(goes, float(reading.does_not_go), leaf_u)


def diameter(reading: Reading, instrument: Instrument, given: Given, land: Measured) -> tuple[Measured, float]:
    """Return the diameter a tape, jaws or chord reading means (independent u), and the part its calibration shares."""
    room = import_module(f"sparkout.core.gauges.{instrument.kind}")
    count = given.visit.reel.blades
    shown = float(reading.value or 0.0)
    # The land is read square to the edge; round the reel a helical blade's land is longer.
    along_arc = land.scaled(1.0 / math.cos(float(given.visit.reel.helix or 0.0)))
    back = getattr(room, f"diameter_from_{instrument.kind}")
    value = back(shown, count, along_arc.value)
    stretch = (back(shown + 0.01, count, along_arc.value) - value) / 0.01
    by_land = getattr(room, f"{instrument.kind}_land_effect")(value, count, along_arc.value) * along_arc.u
    own = Measured(value, stretch * reading_u(instrument))
    if reading.temperature is not None:
        own = _cooled(own, float(reading.temperature))
    return own, math.hypot(stretch * shared_u(instrument), by_land)


def _cooled(own: Measured, temperature: float) -> Measured:
    """Size at 20 degrees C when only the reel's temperature is known.

    A gauge as warm as the reel has grown with it (no correction), one at 20 degrees C has not (the whole correction);
    half is made, and the rest counts as a rectangular doubt.
    """
    whole = own.value - at_reference(own.value, Measured(temperature, 0.0)).value
    return Measured(own.value - whole / 2.0, math.hypot(own.u, whole / math.sqrt(12.0)))


def jaw_blades(kind: str, blade: int | None, count: int) -> tuple[int, ...]:
    """Return which blades flat jaws or a chord saw, when the blade was told (0-based; repeats weigh double)."""
    if blade is None:
        return ()
    b = blade - 1
    if count % 2 == 0:
        return (b, (b + count // 2) % count)
    across = ((b + count // 2) % count, (b + count // 2 + 1) % count)
    return (b, b, *across) if kind == "jaws" else (b, across[0])


def meanings(given: Given) -> tuple[Meaning, ...]:
    """Return every reading next to what it means.

    Raises
    ------
    Refusal
        When a gauge's model cannot have shown a reading; the reading is named.
    """
    return tuple(_meaning(path, reading, given) for path, reading in given.placed_readings)


def _meaning(path: tuple[str | int, ...], reading: Reading, given: Given) -> Meaning:
    instrument = given.instrument(reading)
    kind = QUANTITIES[reading.of].kind
    quantity, interval, why = reading.of, None, ""
    try:
        if reading.of == "diameter":
            assert instrument is not None, "checking has made sure that a diameter names its gauge"
            own, shared = diameter(reading, instrument, given, given.land(reading.when))
            measured = Measured(own.value, math.hypot(own.u, shared))
            why = _why(instrument.kind, given.visit.reel.blades)
        elif reading.value is None or reading.of in ("rest gap", "gap"):
            measured = read_gap(reading, given.reading_u(reading))
            if reading.value is None and reading.does_not_go is None:
                given.assume(
                    phrase(
                        "{path}: no leaf that does not go; the next {next_leaf} is taken ({practice})",
                        path=AsTyped(_path_text(path)),
                        next_leaf=NEXT_LEAF,
                        practice=PRACTICE,
                    )
                )
            interval = (float(reading.goes or 0.0), float(reading.does_not_go)) if reading.does_not_go else None
            why = phrase("The gap lies between the leaf that goes and the leaf that does not.") if interval else ""
        elif reading.of == "adjuster count":
            kind, measured = "number", Measured(float(reading.value or 0.0), 0.0)
        else:
            measured = Measured(float(reading.value or 0.0), given.reading_u(reading))
            if reading.of == "run-out":
                quantity, why = (
                    phrase("height against the dial's zero"),
                    phrase("A dial gives differences, not a radius."),
                )
    except Refusal as refusal:
        raise _named(reading, path, refusal, given) from refusal
    length = float(given.visit.reel.length)
    return Meaning(
        _path_text(path),
        label(reading, length),
        reading.of,
        "" if instrument is None else gauge_words(instrument),
        shown_text(reading),
        reading.when,
        kind,
        quantity,
        measured,
        interval,
        why,
        None if reading.at is None else reading.at.along(length),
        reading.blade,
        None if reading.angle is None else float(reading.angle),
        place_words(reading, length),
    )


def _why(gauge: str, count: int) -> str:
    """Why this gauge shows less than the diameter; jaws and tips across an even reel do not."""
    return WHY[gauge] if gauge == "tape" or count % 2 else ""


def _named(reading: Reading, path: tuple[str | int, ...], refusal: Refusal, given: Given) -> Refusal:
    """Return the refusal with the reading it is about."""
    place = place_words(reading, float(given.visit.reel.length))
    what = phrase("{quantity} at {place}", quantity=reading.of, place=place) if place else reading.of
    return Refusal(phrase("{path}, {what}: {refusal}", path=AsTyped(_path_text(path)), what=what, refusal=refusal))


def _path_text(path: tuple[str | int, ...]) -> str:
    from sparkout.visit.problems import path_text

    return path_text(path)


def observations(given: Given, when: When = "as found") -> list[Observation]:
    """Return the readings of one stage that say something of the reel, its frame, knife and shaft."""
    shared: dict[str, float] = {}
    found: list[Observation] = []
    for path, reading in given.placed_readings:
        if reading.of in OBSERVED and reading.when == when:
            try:
                found += _observed(reading, given, shared)
            except Refusal as refusal:
                raise _named(reading, path, refusal, given) from refusal
    return found


def _observed(reading: Reading, given: Given, shared_by_gauge: dict[str, float]) -> Iterator[Observation]:
    """What one reading says; a gauge's shared uncertainty is that of its first reading, for it hardly changes along."""
    length = float(given.visit.reel.length)
    x = reading.at.along(length) if reading.at is not None else length / 2
    told = label(reading, length)
    instrument = given.instrument(reading)
    if reading.of == "diameter":
        assert instrument is not None, "checking has made sure that a diameter names its gauge"
        own, shared = diameter(reading, instrument, given, given.land(reading.when))
        blades = (
            () if instrument.kind == "tape" else jaw_blades(instrument.kind, reading.blade, given.visit.reel.blades)
        )
        yield Observation(
            told,
            "radius",
            x,
            own.value / 2,
            max(own.u / 2, 1e-4),
            blades,
            group=instrument.name,
            u_group=shared_by_gauge.setdefault(instrument.name, shared / 2),
        )
        return
    if reading.of == "rest gap":
        gap = read_gap(reading, given.reading_u(reading))
        yield Observation(told, "rest gap", x, gap.value, max(gap.u, 1e-4), group=reading.set_up or "")
        return
    if reading.value is None:  # a frame or a straight edge can be read with leaves
        read = read_gap(reading, given.reading_u(reading))
        value, u = read.value, max(read.u, 1e-4)
    else:
        value = float(reading.value)
        u = max(reading_u(instrument) if instrument is not None else given.reading_u(reading), 1e-4)
    if reading.of == "run-out":
        rail = RAIL_U if reading.set_up else 0.0
        if rail:
            given.assume(
                phrase(
                    "dial rails parallel to the axis within a standard uncertainty of {rail_u} mm over the length",
                    rail_u=RAIL_U,
                )
            )
        blades = () if reading.blade is None else (reading.blade - 1,)
        yield Observation(told, "run-out", x, value, u, blades, group=reading.set_up or "", u_rail=rail)
    elif reading.of == "shaft":
        yield Observation(told, "shaft", x, value, u, angle=float(reading.angle or 0.0), group=reading.set_up or "")
    elif reading.of == "frame":
        yield Observation(told, "frame", x, value, u, group=reading.set_up or "")
    else:
        yield Observation(told, "knife", x, value, u, group=reading.set_up or "")
