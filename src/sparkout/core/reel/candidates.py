"""Readings that could still be taken with the gauges at hand, as rows over the same parameters as the state."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import within
from sparkout.core.gauges.instrument import reading_u, shared_u
from sparkout.core.phrase import phrase
from sparkout.core.reel.observations import Observation, design
from sparkout.core.reel.parameters import Parameters, edge_rows, knife_line_rows, mean_radius_rows
from sparkout.core.verdict.next_reading import Candidate, Touch

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from sparkout.core.gauges.instrument import Instrument
    from sparkout.core.reel.geometry import Reel

RAIL_U = 0.02
"""Standard uncertainty of a dial's rail against the axis, mm over the blade length: common practice, no source."""

MINUTES = {
    "tape": 2.0,
    "jaws": 1.0,
    "chord": 1.0,
    "blade": 2.0,
    "rail": 5.0,
    "shaft": 3.0,
    "knife": 3.0,
    "frame": 5.0,
    "gap": 4.0,
}
"""Time each reading takes, minutes: common practice, no source."""

_PLACES: tuple[str, ...] = (phrase("left end"), phrase("middle"), phrase("right end"))
_THIRDS = (0.0, 0.5, 1.0)
"""Left end, middle and right end as shares of the length."""
_FRAME_GAUGES = ("inside gauge", "setting bar", "depth gauge")
_KNIFE_GAUGES = ("straight edge",)


def candidate_readings(
    reel: Reel,
    instruments: Sequence[Instrument],
    parameters: Parameters | None = None,
    *,
    stations: Mapping[str, float] | None = None,
    rail_u: float = RAIL_U,
    knife_at_hand: bool = True,
) -> list[Candidate]:
    """Every reading worth considering next, each a row over `parameters` with the uncertainty it would have.

    A difference of two readings is one candidate: its zero drops out. A fresh calibration or rail enters through u.

    Parameters
    ----------
    instruments:
        Gauges at hand. Tape, jaws and chord read diameters; the dial reads blade against blade, along a blade on one
        rail, and the bare shaft; the feeler reads rest gaps; the straight edge the knife; inside gauge, setting bar or
        depth gauge the frame.
    parameters:
        Those of the state (`state.parameters`); without, those of the unit alone.
    stations:
        Named places along the reel, mm from the left end; default the ends and the middle.
    knife_at_hand:
        Whether knife, frame and rest gap can be read at all.

    Raises
    ------
    OutOfRange
        For a station off the reel.

    Examples
    --------
    >>> from sparkout.core.gauges.instrument import Instrument
    >>> from sparkout.core.reel.geometry import Reel
    >>> tape = Instrument("circumference tape", "tape", 0.05, 0.02, 0.1)
    >>> for candidate in candidate_readings(Reel(11, 127.0, 533.0), [tape]):
    ...     print(candidate.label)
    circumference tape at the left end
    circumference tape at the middle
    circumference tape at the right end
    circumference tape at both ends, right against left

    References
    ----------
    Geometry, own working; times and the rail's uncertainty are common practice, no source.
    """
    over = Parameters(reel.blade_count) if parameters is None else parameters
    places = dict(zip(_PLACES, (0.0, reel.length / 2.0, reel.length), strict=True)) if stations is None else stations
    for name, x in places.items():
        within(phrase("station {name!r}", name=name), x, 0.0, reel.length, "mm")
    found: list[Candidate] = []
    for gauge in instruments:
        if gauge.kind == "tape":
            found += _tape(reel, gauge, places)
        elif gauge.kind in ("jaws", "chord"):
            found += _across(reel, gauge, places)
        elif gauge.kind == "dial":
            found += _blade_against_blade(reel, gauge, places)
            found += _along_a_blade(reel, gauge, rail_u)
            found += _shaft(reel, gauge)
        elif not knife_at_hand:
            continue
        elif gauge.kind == "feeler":
            found += _rest_gaps(reel, gauge)
        elif gauge.kind in _KNIFE_GAUGES:
            found += _knife(reel, gauge)
        elif gauge.kind in _FRAME_GAUGES:
            found += _frame(reel, gauge)
    return [replace(c, row=over.embed(c.row)) for c in found]


def _tape(reel: Reel, gauge: Instrument, places: Mapping[str, float]) -> list[Candidate]:
    return _diameters(reel, gauge, places, (), gauge.name)


def _across(reel: Reel, gauge: Instrument, places: Mapping[str, float]) -> list[Candidate]:
    """Jaws or chord across the marked blade: its opposite, or the two nearest opposite counting half each."""
    half = reel.blade_count // 2
    blades = (0, half) if reel.blade_count % 2 == 0 else (0, 0, half, half + 1)
    return _diameters(reel, gauge, places, blades, phrase("{gauge} across blade 1", gauge=gauge.name))


def _diameters(
    reel: Reel, gauge: Instrument, places: Mapping[str, float], blades: tuple[int, ...], label: str
) -> list[Candidate]:
    """A diameter at each place, and the two ends against each other; in radius, so half the gauge's uncertainty."""
    own = reading_u(gauge) / 2.0
    u, minutes = math.hypot(own, shared_u(gauge) / 2.0), MINUTES[gauge.kind]

    def rows_at(x: Sequence[float]) -> NDArray[np.float64]:
        return design([Observation(label, "radius", at, 0.0, u, blades) for at in x], reel).rows

    def touch(x: float) -> Touch:
        return Touch("radius", x, blades[0] if blades else None)

    found = [
        Candidate(
            phrase("{reading} at the {place}", reading=label, place=name), row, u, minutes, gauge.kind, (touch(x),)
        )
        for (name, x), row in zip(places.items(), rows_at(list(places.values())), strict=True)
    ]
    left, right = rows_at([0.0, reel.length])
    ends = phrase("{reading} at both ends, right against left", reading=label)
    at = (touch(0.0), touch(reel.length))
    return [*found, Candidate(ends, right - left, math.sqrt(2.0) * own, 2.0 * minutes, gauge.kind, at)]


def _blade_against_blade(reel: Reel, gauge: Instrument, places: Mapping[str, float]) -> list[Candidate]:
    rows = edge_rows(reel, np.array(list(places.values())))
    u = math.sqrt(2.0) * reading_u(gauge)
    return [
        Candidate(
            phrase(
                "{gauge} on blade {blade} at the {place} against blade 1", gauge=gauge.name, blade=b + 1, place=name
            ),
            rows[b, i] - rows[0, i],
            u,
            MINUTES["blade"],
            gauge.kind,
            (Touch("run-out", x, b), Touch("run-out", x, 0)),
        )
        for i, (name, x) in enumerate(places.items())
        for b in range(1, reel.blade_count)
    ]


def _along_a_blade(reel: Reel, gauge: Instrument, rail_u: float) -> list[Candidate]:
    left, middle, right = edge_rows(reel, np.array([0.0, reel.length / 2.0, reel.length]))[0]
    own = reading_u(gauge)
    return [
        Candidate(
            phrase("{gauge} along blade 1 on one rail, right end against left end", gauge=gauge.name),
            right - left,
            math.hypot(math.sqrt(2.0) * own, rail_u),
            MINUTES["rail"],
            gauge.kind,
            (Touch("run-out", 0.0, 0), Touch("run-out", reel.length, 0)),
        ),
        Candidate(
            phrase("{gauge} along blade 1 on one rail, middle against both ends", gauge=gauge.name),
            middle - (left + right) / 2.0,
            math.sqrt(1.5) * own,
            MINUTES["rail"],
            gauge.kind,
            tuple(Touch("run-out", share * reel.length, 0) for share in _THIRDS),
        ),
    ]


def _shaft(reel: Reel, gauge: Instrument) -> list[Candidate]:
    """Half a turn apart the dial moves by twice the component of the bow in that direction."""
    u = math.sqrt(2.0) * reading_u(gauge)
    found = []
    for angle, label in (
        (
            0.0,
            phrase(
                "{gauge} on the bare shaft at the middle, under the marked blade against half a turn on",
                gauge=gauge.name,
            ),
        ),
        (
            math.pi / 2.0,
            phrase(
                "{gauge} on the bare shaft at the middle, a quarter turn on against three quarters on",
                gauge=gauge.name,
            ),
        ),
    ):
        pair = [Observation(label, "shaft", reel.length / 2.0, 0.0, u, angle=a) for a in (angle, angle + math.pi)]
        rows = _without_zeros(design(pair, reel).rows, reel)
        touches = tuple(Touch("shaft", reel.length / 2.0, None, a) for a in (angle, angle + math.pi))
        found.append(Candidate(label, rows[0] - rows[1], u, MINUTES["shaft"], gauge.kind, touches))
    return found


def _rest_gaps(reel: Reel, gauge: Instrument) -> list[Candidate]:
    t = np.array([-1.0, 0.0, 1.0])
    left, middle, right = knife_line_rows(reel.blade_count, t) - mean_radius_rows(reel.blade_count, t)
    u = reading_u(gauge)
    return [
        Candidate(
            phrase("{gauge} under the resting knife, right end against left end", gauge=gauge.name),
            right - left,
            math.sqrt(2.0) * u,
            MINUTES["gap"],
            gauge.kind,
            (Touch("rest gap", 0.0), Touch("rest gap", reel.length)),
        ),
        Candidate(
            phrase("{gauge} under the resting knife, middle against both ends", gauge=gauge.name),
            middle - (left + right) / 2.0,
            math.sqrt(1.5) * u,
            MINUTES["gap"],
            gauge.kind,
            tuple(Touch("rest gap", share * reel.length) for share in _THIRDS),
        ),
    ]


def _knife(reel: Reel, gauge: Instrument) -> list[Candidate]:
    left, middle, right = knife_line_rows(reel.blade_count, np.array([-1.0, 0.0, 1.0]))
    row = middle - (left + right) / 2.0
    label = phrase("{gauge} along the knife, middle against its ends", gauge=gauge.name)
    touches = tuple(Touch("knife", share * reel.length) for share in _THIRDS)
    return [Candidate(label, row, reading_u(gauge), MINUTES["knife"], gauge.kind, touches)]


def _frame(reel: Reel, gauge: Instrument) -> list[Candidate]:
    ends = knife_line_rows(reel.blade_count, np.array([-1.0, 1.0]))
    label = phrase("{gauge} from the bearing axis to the knife's mounts, right against left", gauge=gauge.name)
    touches = (Touch("frame", 0.0), Touch("frame", reel.length))
    u = math.sqrt(2.0) * reading_u(gauge)
    return [Candidate(label, ends[1] - ends[0], u, MINUTES["frame"], gauge.kind, touches)]


def _without_zeros(rows: NDArray[np.float64], reel: Reel) -> NDArray[np.float64]:
    return rows[:, : Parameters(reel.blade_count).count]
