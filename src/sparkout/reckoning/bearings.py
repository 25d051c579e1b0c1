"""The reel's bearings: what was read of them, side against side, and against this unit's own earlier visits."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from sparkout.core.bearing.drag import drag_of_slowing, slowing_by_speed, slowing_by_turns, torque_by_cord
from sparkout.core.bearing.play import Difference, difference, torque_ratio
from sparkout.core.errors import Refusal
from sparkout.core.gauges.instrument import reading_u
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase
from sparkout.reckoning.given import PRACTICE
from sparkout.reckoning.readings import diameter
from sparkout.visit.quantities import BEARING, QUANTITIES
from sparkout.visit.taken import Reading

if TYPE_CHECKING:
    import datetime
    from collections.abc import Iterable, Iterator

    from sparkout.core.reel.geometry import Reel
    from sparkout.reckoning.answer import Diagnosis
    from sparkout.reckoning.given import Given
    from sparkout.visit.taken import Earlier, When

Side = Literal["left", "right", ""]
Kept = tuple[str, Side]
"""A quantity and the side it is of; empty: the reel as a whole."""
DRAG_TORQUE = phrase("drag torque")
SLOWING = phrase("slowing")
RUN_DOWN_TORQUE = phrase("drag torque by the run-down")
_CORD_U = 1.0
"""How well the middle of the cord is known round the reel, mm (common practice, no source)."""
_RATIO_OF = (DRAG_TORQUE, SLOWING)
COMPARED = ("end play", "radial play", "preload", *_RATIO_OF)
"""What is held against the other side and earlier visits: the pull and the times by themselves say less."""
MUCH_MORE = 1.25
"""Drag beyond this many times what it was counts as hard to turn (our own choice; no general figure exists)."""
INERTIA_SHARE = 0.05
"""Standard uncertainty of an inertia told, as a share of it (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class BearingFigure:
    """One figure of the bearings: read, or reckoned from what was read. Core units by its kind."""

    of: str
    side: Side
    when: str
    kind: str
    """A kind of quantity; "slowing" is rad/s²."""
    measured: Measured
    own_u: float
    """Without what the gauge adds to all its readings alike: for differences within one visit."""


@dataclass(frozen=True, slots=True)
class Against:
    """One figure held against another: the right side, the last visit, or the bearings when fresh."""

    of: str
    side: Side
    when: str
    kind: str
    base: Literal["right", "last", "fresh"]
    on: datetime.date | None
    now: Measured
    then: Measured
    found: Difference
    ratio: Measured | None
    """Of drags only: now over then."""


@dataclass(frozen=True, slots=True)
class BearingsFound:
    """Everything told of the bearings."""

    figures: tuple[BearingFigure, ...]
    against: tuple[Against, ...]
    notes: tuple[str, ...]

    @property
    def chance_of_hard_turning(self) -> float | None:
        """The chance that drag is much more than it was, by the surest comparison; None: nothing to compare."""
        chances = [
            0.5 * math.erfc((MUCH_MORE - a.ratio.value) / (max(a.ratio.u, 1e-12) * math.sqrt(2.0)))
            for a in self.against
            if a.ratio is not None and a.base != "right" and a.when == "as found"
        ]
        return max(chances, key=lambda chance: abs(chance - 0.5), default=None)


def bearings(given: Given, reel: Reel, diagnosis: Diagnosis) -> BearingsFound | None:
    """Return what a visit tells of the bearings; None when nothing was read of them.

    Equation: torque of the pull on a string is F r at the reel's mean radius as found; slowing is ω₀/t, or 4π N/t²
    without a speed; with the reel's inertia its torque is I dω/dt. Two figures differ when the difference is beyond
    its 95 % interval; a gauge's own calibration cancels between the sides.

    Validity: earlier readings are those of the same reel in the same unit. What is right stands in the machine's
    book; no general figure exists, so drag is told against this unit itself.
    """
    notes: list[str] = []
    radius = _radius(reel, diagnosis, notes)
    figures: list[BearingFigure] = []
    for when in ("as found", "as left"):
        figures += _figures(given, given.all_readings, when, radius)
    if not figures:
        return None
    earlier = _earlier(given, radius, notes)
    against = [*_sides(figures), *_history(figures, earlier)]
    if not earlier:
        notes.append(phrase("No earlier visit has readings of these bearings: today's are the first to compare."))
    if any(f.of == "end play" and f.measured.value > 0.0 for f in figures) and any(f.of == "preload" for f in figures):
        notes.append(phrase("End play and preload exclude each other in one pair of bearings: read both again."))
    return BearingsFound(tuple(figures), tuple(against), tuple(dict.fromkeys(notes)))


def _radius(reel: Reel, diagnosis: Diagnosis, notes: list[str]) -> Measured:
    if "mean radius" in diagnosis.informed:
        mean = diagnosis.state.mean_radius
        return Measured(mean.value, math.hypot(mean.u, _CORD_U))
    notes.append(phrase("Torque of the drag is taken at the reel's diameter when new, because none was read."))
    return Measured(reel.diameter / 2.0, 2.0 * _CORD_U)


def _side(given: Given, reading: Reading) -> Side:
    if reading.at is None:
        return ""
    return "left" if 2.0 * reading.at.along(given.visit.reel.length) <= given.visit.reel.length else "right"


def _figures(given: Given, readings: Iterable[Reading], when: When, radius: Measured) -> list[BearingFigure]:
    """Return the figures of one stage: each quantity's mean on each side, and what follows from them."""
    by_kept: dict[Kept, list[Reading]] = {}
    for reading in readings:
        if reading.of in BEARING and reading.when == when and reading.value is not None:
            by_kept.setdefault((reading.of, _side(given, reading)), []).append(reading)
    order = {name: i for i, name in enumerate(BEARING)}
    found = [
        _mean(given, of, side, when, by_kept[of, side])
        for of, side in sorted(by_kept, key=lambda k: (order[k[0]], k[1]))
    ]
    return [*found, *_followed(given, found, when, radius)]


def _mean(given: Given, of: str, side: Side, when: When, readings: list[Reading]) -> BearingFigure:
    """Return the mean of readings of one thing; a gauge's calibration does not average out."""
    values = [float(r.value) for r in readings if r.value is not None]
    mean = math.fsum(values) / len(values)
    scatter = math.sqrt(math.fsum((v - mean) ** 2 for v in values) / max(1, len(values) - 1))
    own = max(_own_u(given, r) for r in readings)
    each = max(own, scatter) / math.sqrt(len(values))
    shared = math.sqrt(max(0.0, max(given.reading_u(r) for r in readings) ** 2 - own**2))
    return BearingFigure(of, side, when, QUANTITIES[of].kind, Measured(mean, math.hypot(each, shared)), each)


def _own_u(given: Given, reading: Reading) -> float:
    instrument = given.instrument(reading)
    return given.reading_u(reading) if instrument is None else reading_u(instrument)


def _followed(given: Given, found: list[BearingFigure], when: When, radius: Measured) -> Iterator[BearingFigure]:
    """Yield the torques and the slowing that follow from what was read."""
    at = {(figure.of, figure.side): figure for figure in found}
    for (of, side), figure in at.items():
        if of == "drag":
            torque = torque_by_cord(figure.measured, radius)
            yield BearingFigure(
                DRAG_TORQUE, side, when, "torque", torque, figure.own_u * radius.value
            )  # the radius is the same on both sides
    time = at.get(("run-down time", ""))
    speed, turns = at.get(("run-down speed", "")), at.get(("run-down turns", ""))
    if time is None or (speed is None and turns is None):
        return
    if speed is not None:
        slows = slowing_by_speed(speed.measured, time.measured)
    else:
        assert turns is not None  # one of the two is there
        slows = slowing_by_turns(turns.measured, time.measured)
    yield BearingFigure(SLOWING, "", when, "slowing", slows, slows.u)
    inertia = given.visit.reel.inertia
    if inertia is not None:
        given.assume(
            phrase(
                "the reel's inertia known to {share:.0f} % ({practice})", share=100.0 * INERTIA_SHARE, practice=PRACTICE
            )
        )
        torque = drag_of_slowing(slows, Measured(float(inertia), INERTIA_SHARE * float(inertia)))
        yield BearingFigure(RUN_DOWN_TORQUE, "", when, "torque", torque, torque.u)


def _sides(figures: list[BearingFigure]) -> Iterator[Against]:
    """Yield left against right, wherever both were read."""
    for left in (f for f in figures if f.of in COMPARED):
        other_side = (left.of, left.when, "right")
        right = next((f for f in figures if (f.of, f.when, f.side) == other_side), None)
        if left.side == "left" and right is not None:
            one, other = (Measured(f.measured.value, f.own_u) for f in (left, right))
            ratio = _ratio(left.of, one, other)
            yield Against(left.of, "", left.when, left.kind, "right", None, one, other, difference(one, other), ratio)


def _ratio(of: str, now: Measured, then: Measured) -> Measured | None:
    if of not in _RATIO_OF or then.value <= 0.0:
        return None
    try:
        return torque_ratio(now, then)
    except Refusal:  # beyond what a ratio is good for: the difference says it
        return None


@dataclass(frozen=True, slots=True)
class _Then:
    on: datetime.date | None
    fresh: bool
    figures: list[BearingFigure]


def _earlier(given: Given, radius: Measured, notes: list[str]) -> list[_Then]:
    """Return the earlier visits' figures, the last of each day's stages, oldest first.

    A pull then is turned to torque at the reel's radius then, where that is on file.
    """
    days: dict[tuple[str, str, bool], list[Earlier]] = {}
    for entry in given.visit.earlier:
        days.setdefault((str(entry.on or ""), entry.when, bool(entry.fresh)), []).append(entry)
    found = []
    sizes = _radii(given)
    for (day, when, fresh), entries in sorted(days.items()):
        read = [Reading.model_construct(of=e.of, gauge=e.gauge, at=e.at, value=e.value, when=e.when) for e in entries]
        stage: When = "as left" if when == "as left" else "as found"
        then = sizes.get((day, when)) or sizes.get((day, "as found"))
        if then is None and any(e.of == "drag" for e in entries):
            notes.append(phrase("An earlier pull is taken at today's radius: the reel's diameter then is not on file."))
        figures = _figures(given, read, stage, then or radius)
        if figures:
            found.append(_Then(entries[0].on, fresh, figures))
    return found


def _radii(given: Given) -> dict[tuple[str, str], Measured]:
    """Return the reel's mean radius by day and stage, of the earlier visits in which its diameter was read."""
    read: dict[tuple[str, str], list[float]] = {}
    for entry in given.visit.earlier:
        reading = Reading.model_construct(of=entry.of, gauge=entry.gauge, at=entry.at, value=entry.value)
        instrument = given.instrument(reading) if entry.of == "diameter" else None
        if instrument is not None:
            size, _ = diameter(reading, instrument, given, given.land("as found"))
            read.setdefault((str(entry.on or ""), entry.when), []).append(size.value)
    return {key: Measured(math.fsum(sizes) / len(sizes) / 2.0, _CORD_U) for key, sizes in read.items()}


def _history(figures: list[BearingFigure], earlier: list[_Then]) -> Iterator[Against]:
    """Yield each figure against the last earlier one, and against the last one read with the bearings fresh."""
    for figure in (f for f in figures if f.of in COMPARED):
        for base, those in (("last", earlier), ("fresh", [then for then in earlier if then.fresh])):
            on, then = next(
                (
                    (visit.on, one)
                    for visit in reversed(those)
                    for one in visit.figures
                    if (one.of, one.side) == (figure.of, figure.side)
                ),
                (None, None),
            )
            if then is None or (base == "last" and _is_fresh(then, earlier)):
                continue
            yield Against(
                figure.of, figure.side, figure.when, figure.kind, "last" if base == "last" else "fresh", on,
                figure.measured, then.measured, difference(figure.measured, then.measured),
                _ratio(figure.of, figure.measured, then.measured),
            )  # fmt: skip


def _is_fresh(figure: BearingFigure, earlier: list[_Then]) -> bool:
    return any(then.fresh and figure in then.figures for then in earlier)
