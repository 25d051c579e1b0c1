"""What the visit gives, and what had to be taken instead: every stand-in is written down, none is silent."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.core.gauges.instrument import USUAL_REPEATABILITY, Instrument
from sparkout.core.grinding import usual
from sparkout.core.measured import Measured
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.core.reel.geometry import Reel
from sparkout.core.verdict.limit import Limit

if TYPE_CHECKING:
    from sparkout.visit.schema import Visit
    from sparkout.visit.sections import GaugeEntry, LimitEntry
    from sparkout.visit.taken import Reading, When

PRACTICE = phrase("common practice, no source")
SIGNED = ("cone", "barrel", "frame", "knife straightness")
"""Quantities that may depart either way from none; their limits are given as one size."""
SPECIFIED_LAND_U = 0.2
"""How well a specified land stands for the land as it is, mm (common practice, no source)."""
_USUAL_RESOLUTION = {"tape": 0.1, "jaws": 0.01, "chord": 0.01, "dial": 0.01, "feeler": 0.0, "scale": 0.1}
_NO_GAUGE = {
    "top angle": (math.radians(0.5), "0.5°"),
    "front angle": (math.radians(0.5), "0.5°"),
    "drag": (1.0, "1 N"),
    "run-down time": (0.3, "0.3 s"),
    "run-down turns": (0.3, phrase("0.3 turns")),
    "run-down speed": (2.0 * math.pi * 10.0 / 60.0, "10 1/min"),
}
"""Standard uncertainty of a reading whose gauge is not named (common practice, no source); else 0.1 mm."""


@dataclass(slots=True)
class Given:
    """The visit with its stand-ins; `assumed` collects, in words, everything the file did not say."""

    visit: Visit
    assumed: list[str] = field(default_factory=list)
    _instruments: dict[str, Instrument] = field(default_factory=dict, init=False, repr=False)
    _limits: tuple[Limit, ...] | None = field(default=None, init=False, repr=False)
    placed_readings: tuple[tuple[tuple[str | int, ...], Reading], ...] = field(init=False)
    """The visit's readings with their paths, spread out once: nearly every part of the answer asks for them."""

    def __post_init__(self) -> None:
        self.placed_readings = self.visit.placed_readings

    @property
    def all_readings(self) -> tuple[Reading, ...]:
        """Every reading, those of the sweeps spread out."""
        return tuple(reading for _, reading in self.placed_readings)

    def assume(self, text: str) -> None:
        """Write a stand-in down, once."""
        if text not in self.assumed:
            self.assumed.append(text)

    def or_else(self, entered: float | None, stand_in: float, what: str) -> float:
        """Return what was entered, or the stand-in, written down."""
        if entered is not None:
            return float(entered)
        self.assume(what)
        return stand_in

    def reel(self) -> Reel:
        """Return the reel as specified."""
        spec = self.visit.reel
        relief = spec.relief_from_tangent
        if relief is None:
            self.assume(
                phrase(
                    "relief angle 45 degrees, because its datum is not told ({practice})"
                    if spec.relief_angle is not None
                    else "relief angle 45 degrees, because it is not given ({practice})",
                    practice=PRACTICE,
                )
            )
        land = self.or_else(
            spec.land, usual.LAND, phrase("land of a freshly relieved blade 1 mm ({practice})", practice=PRACTICE)
        )
        return Reel(
            spec.blades,
            float(spec.diameter),
            float(spec.length),
            float(spec.helix or 0.0),
            land,
            usual.RELIEF_ANGLE if relief is None else relief,
            max(
                land,
                self.or_else(
                    spec.blade_thickness,
                    max(usual.BLADE_THICKNESS, land),
                    phrase("blade thickness 5 mm ({practice})", practice=PRACTICE),
                ),
            ),
        )

    def instrument(self, reading: Reading) -> Instrument | None:
        """Return the gauge a reading was taken with, gaps in its figures filled and written down."""
        if reading.gauge is None:
            return None
        if reading.gauge not in self._instruments:
            self._instruments[reading.gauge] = self._instrument(reading.gauge)
        return self._instruments[reading.gauge]

    def _instrument(self, name: str) -> Instrument:
        entry: GaugeEntry = self.visit.gauge(name)
        usual = USUAL_REPEATABILITY[entry.kind]
        stand_ins = {
            "resolution": (entry.resolution, _USUAL_RESOLUTION.get(entry.kind, usual)),
            "calibration": (entry.calibration_u, usual / 2),
            "repeatability": (entry.repeatability, usual),
        }
        missing = [name for name, (entered, _) in stand_ins.items() if entered is None]
        if missing:
            self.assume(
                phrase(
                    "gauge {gauge}: usual {missing} of its kind ({practice})",
                    gauge=AsTyped(entry.id),
                    missing=joined(", ", missing),
                    practice=PRACTICE,
                )
            )
        figures = [usually if entered is None else float(entered) for entered, usually in stand_ins.values()]
        if not any(figures):
            raise Refusal(
                phrase(
                    "gauge {gauge}: resolution, calibration uncertainty and repeatability are all 0; no gauge is "
                    "perfect: enter one, or leave them out to take what is usual for its kind",
                    gauge=AsTyped(entry.id),
                )
            )
        return Instrument(entry.id, entry.kind, *figures)

    def limits(self) -> tuple[Limit, ...]:
        """Return the workshop's limits; a limit on a signed quantity holds either way."""
        if self._limits is None:
            self._limits = tuple(_limit(entry, number) for number, entry in enumerate(self.visit.limits, 1))
        return self._limits

    def limit(self, quantity: str) -> Limit | None:
        """Return the limit on one quantity, if the workshop has one."""
        return next((limit for limit in self.limits() if limit.quantity == quantity), None)

    def readings(self, of: str, when: When = "as found") -> list[Reading]:
        """Return the readings of one quantity at one stage."""
        return [r for _, r in self.placed_readings if r.of == of and r.when == when]

    def mean_of(self, of: str, when: When = "as found", which: str = "") -> Measured | None:
        """Return the plain mean of single-valued readings with its uncertainty, or None when there are none.

        The scatter between places counts as part of the uncertainty of "the" value. `which`: of one roller only.
        """
        read = [r for r in self.readings(of, when) if r.value is not None and which in ("", r.which)]
        values = [float(r.value) for r in read if r.value is not None]
        if not values:
            return None
        mean = sum(values) / len(values)
        own = [self.reading_u(r) for r in read]
        scatter = math.sqrt(sum((v - mean) ** 2 for v in values) / max(1, len(values) - 1)) if len(values) > 1 else 0.0
        return Measured(mean, math.hypot(max(own), scatter) / math.sqrt(len(values)))

    def reading_u(self, reading: Reading) -> float:
        """Return the standard uncertainty of one direct reading, its gauge's calibration included."""
        instrument = self.instrument(reading)
        if instrument is None:
            usual, words = _NO_GAUGE.get(reading.of, (0.1, "0.1 mm"))
            self.assume(
                phrase(
                    "{quantity} read with no gauge named: standard uncertainty {u} ({practice})",
                    quantity=reading.of,
                    u=words,
                    practice=PRACTICE,
                )
            )
            return usual
        from sparkout.core.gauges.instrument import reading_u, shared_u

        return math.hypot(reading_u(instrument), shared_u(instrument))

    def land(self, when: When = "as found") -> Measured:
        """Return the land: as read, else as specified."""
        read = self.mean_of("land", when)
        if read is not None:
            return read
        self.assume(
            phrase(
                "land as specified, standard uncertainty {u} mm, because none was read ({practice})",
                u=SPECIFIED_LAND_U,
                practice=PRACTICE,
            )
        )
        return Measured(self.reel().land, SPECIFIED_LAND_U)


def _limit(entry: LimitEntry, number: int) -> Limit:
    upper = None if entry.at_most is None else float(entry.at_most)
    lower = None if entry.at_least is None else float(entry.at_least)
    if entry.quantity in SIGNED and upper is not None:
        lower = -upper
        if upper <= 0.0:
            raise Refusal(
                phrase(
                    "limits number {number}: at most {upper:g} mm of {quantity}; allowed: above 0 mm",
                    number=number,
                    upper=upper,
                    quantity=entry.quantity,
                )
            )
    origin = entry.origin or phrase("house: no origin told")
    return Limit(entry.quantity, lower, upper, origin, entry.set_by or "", entry.on, entry.accepted_risk)
