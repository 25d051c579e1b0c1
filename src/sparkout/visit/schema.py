"""The visit: one cutting unit's pass through the workshop, as one model tree."""

from __future__ import annotations

from functools import cached_property
from typing import Annotated

from sparkout.visit.sections import (
    GaugeEntry,
    GrinderSection,
    HeightSection,
    KnifeSection,
    LimitEntry,
    MowingSection,
    ReelSection,
    Section,
    UnitSection,
    VisitSection,
    WantedSection,
)
from sparkout.visit.taken import Earlier, PaperProof, Reading, SignOff, Sweep, WorkEntry
from sparkout.visit.words import Whole

VERSION = 1


class Visit(Section):
    """A visit file. Only the unit's name and the reel's blades, diameter and length are needed."""

    sparkout: Annotated[int, Whole("version of this file's layout", VERSION, VERSION, VERSION)] = VERSION
    visit: VisitSection = VisitSection.model_construct()
    unit: UnitSection
    reel: ReelSection
    knife: KnifeSection = KnifeSection.model_construct()
    height: HeightSection = HeightSection.model_construct()
    mowing: MowingSection = MowingSection.model_construct()
    limits: tuple[LimitEntry, ...] = ()
    gauges: tuple[GaugeEntry, ...] = ()
    grinder: GrinderSection = GrinderSection.model_construct()
    wanted: WantedSection = WantedSection.model_construct()
    readings: tuple[Reading, ...] = ()
    sweeps: tuple[Sweep, ...] = ()
    earlier: tuple[Earlier, ...] = ()
    work: tuple[WorkEntry, ...] = ()
    paper: tuple[PaperProof, ...] = ()
    sign_off: SignOff = SignOff.model_construct()

    @cached_property
    def placed_readings(self) -> tuple[tuple[tuple[str | int, ...], Reading], ...]:
        """Every reading with its path in the file, sweeps spread out."""
        found: list[tuple[tuple[str | int, ...], Reading]] = [
            (("readings", i), reading) for i, reading in enumerate(self.readings)
        ]
        for i, sweep in enumerate(self.sweeps):
            for (row, column), reading in sweep.readings(f"sweep {i + 1}"):
                found.append((("sweeps", i, "values", row, column), reading))
        return tuple(found)

    @property
    def all_readings(self) -> tuple[Reading, ...]:
        """Every reading, those of the sweeps spread out."""
        return tuple(reading for _, reading in self.placed_readings)

    def gauge(self, name: str) -> GaugeEntry:
        """Return the gauge with this id (checking has made sure that it is there)."""
        return next(gauge for gauge in self.gauges if gauge.id == name)
