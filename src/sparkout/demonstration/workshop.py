"""The invented workshop: its gauges, its grinder and its limits, as tables of a visit file.

Every figure is invented for the demonstration. Figures of gauges, limits and grinder lie where common practice has them
(no source); none is a recommendation.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from sparkout.core.gauges.instrument import Instrument
from sparkout.units import to_core
from sparkout.visit.quantities import gauge_shows

if TYPE_CHECKING:
    from sparkout.visit.quantities import GaugeKind

Table = dict[str, Any]
"""One table of a visit file, as it will be written."""

PRACTICE: Final = "common practice, no source"
HOUSE: Final = "house (invented for the demonstration)"


@dataclass(frozen=True, slots=True)
class Gauge:
    """A gauge on the workshop's wall; figures in the unit it shows."""

    id: str
    kind: GaugeKind
    unit: str
    resolution: float
    calibration_u: float
    repeatability: float
    due: str

    @property
    def instrument(self) -> Instrument:
        """The gauge in core units."""
        shows = gauge_shows(self.kind)[0]
        figures = (
            to_core(figure, shows, self.unit) for figure in (self.resolution, self.calibration_u, self.repeatability)
        )
        return Instrument(self.id, self.kind, *figures)

    @property
    def table(self) -> Table:
        """The gauge's entry in a visit file."""
        return {
            "id": self.id,
            "kind": self.kind,
            "resolution": f"{self.resolution:g} {self.unit}",
            "calibration_uncertainty": f"{self.calibration_u:g} {self.unit}",
            "repeatability": f"{self.repeatability:g} {self.unit}",
            "calibration_due": self.due,
        }

    def text(self, value: float) -> str:
        """Return a core value as the gauge shows it: as many decimals as its step has, with its unit.

        Examples
        --------
        >>> Gauge("tape 1", "tape", "mm", 0.05, 0.03, 0.05, "2027-03-31").text(125.4)
        '125.40 mm'
        """
        return f"{self.number(value)} {self.unit}"

    def number(self, value: float) -> str:
        """Return a core value as the gauge shows it, without its unit; never a negative nought."""
        shown = value / to_core(1.0, gauge_shows(self.kind)[0], self.unit)
        decimals = len(f"{self.resolution:g}".partition(".")[2])
        return f"{round(shown, decimals) + 0.0:.{decimals}f}"


GAUGES: Final = (
    Gauge("tape 1", "tape", "mm", 0.05, 0.03, 0.05, "2027-03-31"),
    Gauge("jaws 1", "jaws", "mm", 0.01, 0.01, 0.03, "2027-03-31"),
    Gauge("dial 1", "dial", "mm", 0.01, 0.003, 0.004, "2027-05-31"),
    Gauge("leaves 1", "feeler", "mm", 0.0, 0.002, 0.004, "2027-09-30"),
    Gauge("loupe 1", "scale", "mm", 0.05, 0.02, 0.03, "2027-09-30"),
    Gauge("loupe 2", "scale", "mm", 0.01, 0.003, 0.005, "2027-09-30"),
    Gauge("straight edge 1", "straight edge", "mm", 0.01, 0.004, 0.005, "2027-05-31"),
    Gauge("depth 1", "depth gauge", "mm", 0.02, 0.01, 0.02, "2027-03-31"),
    Gauge("protractor 1", "protractor", "deg", 0.25, 0.15, 0.2, "2027-09-30"),
    Gauge("setting bar 1", "setting bar", "mm", 0.01, 0.01, 0.02, "2027-03-31"),
    Gauge("spring balance 1", "spring balance", "N", 0.5, 0.2, 0.3, "2027-09-30"),
    Gauge("tape 2", "tape", "in", 0.002, 0.001, 0.002, "2027-03-31"),
    Gauge("dial 2", "dial", "thou", 0.5, 0.1, 0.2, "2027-05-31"),
    Gauge("leaves 2", "feeler", "thou", 0.0, 0.1, 0.2, "2027-09-30"),
)

GRINDER: Final[Table] = {
    "name": "spin grinder 1",
    "give": "0.7",
    "give_uncertainty": "0.1",
    "g_ratio": "20",
    "g_ratio_uncertainty": "8",
    "wheel_diameter": "150.0 mm",
    "wheel_width": "20 mm",
    "spindle_speed": "2800 1/min",
    "marked_speed": "35 m/s",
    "traverse_speed": "40 mm/s",
    "work_speed": "200 1/min",
    "overrun": "15 mm",
    "rough_infeed": "0.02 mm",
    "finish_infeed": "0.01 mm",
    "spark_out_passes": 4,
    "mount_spacing": "620 mm",
    "thread_pitch": "1.5 mm",
    "divisions_per_turn": 60,
    "specific_energy": "40 J/mm3",
    "relief_infeed": "0.02 mm",
    "work_rest_gap": "2.5 mm",
    "tongue_gap": "4 mm",
}

WANTED: Final[Table] = {
    "uncleaned_share": "0 %",
    "allowance": "0.02 mm",
    "relief": "if due",
    "gap": "0.03 mm",
    "run_out": "0.03 mm",
    "cone": "0.05 mm",
}

HEIGHT: Final[Table] = {
    "of_cut": "3.5 mm",
    "front_roller_diameter": "60 mm",
    "rear_roller_diameter": "50 mm",
    "front_roller_ahead": "90 mm",
    "rear_roller_behind": "85 mm",
    "adjuster_pitch": "1.25 mm",
}


def limits(
    service_diameter: str, least_lip: str = "2.5 mm", least_front_lip: str = "3 mm", widest_land: str = "1.5 mm"
) -> list[Table]:
    """Return the workshop's limits for a unit."""
    at_most = {
        "cone": ("0.25 mm", PRACTICE),
        "barrel": ("0.05 mm", PRACTICE),
        "run-out": ("0.05 mm", PRACTICE),
        "shaft": ("0.08 mm", HOUSE),
        "frame": ("0.10 mm", HOUSE),
        "knife straightness": ("0.05 mm", PRACTICE),
        "land": (widest_land, PRACTICE),
        "gap": ("0.05 mm", PRACTICE),
        "end play": ("0.05 mm", PRACTICE),
        "radial play": ("0.02 mm", HOUSE),
    }
    at_least = {
        "diameter": service_diameter,
        "lip height": least_lip,
        "front lip depth": least_front_lip,
        "front roller diameter": "59.2 mm",
        "rear roller diameter": "49.6 mm",
    }
    set_by = {"set_by": "workshop manager", "on": "2026-01-12"}
    lower = [{"quantity": name, "at_least": value, "origin": HOUSE, **set_by} for name, value in at_least.items()]
    upper = [
        {"quantity": name, "at_most": value, "origin": origin, **set_by} for name, (value, origin) in at_most.items()
    ]
    return [*lower, *upper]
