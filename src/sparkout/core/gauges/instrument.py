"""What is known of a gauge itself, and what temperature does to a length."""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, Literal, get_args

from sparkout.core.errors import OutOfRange, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from collections.abc import Mapping

Kind = Literal[
    "tape",
    "jaws",
    "chord",
    "dial",
    "feeler",
    "scale",
    "depth gauge",
    "protractor",
    "straight edge",
    "inside gauge",
    "spring balance",
    "setting bar",
]

USUAL_REPEATABILITY: Final[Mapping[Kind, float]] = MappingProxyType(
    {
        "tape": 0.1,
        "jaws": 0.03,
        "chord": 0.03,
        "dial": 0.005,
        "feeler": 0.005,
        "scale": 0.1,
        "depth gauge": 0.02,
        "protractor": math.radians(0.25),
        "straight edge": 0.02,
        "inside gauge": 0.02,
        "spring balance": 0.5,
        "setting bar": 0.03,
    }
)
"""Standard deviation of one reading in a trained hand: mm (protractor rad, spring balance N)."""

USUAL_REPEATABILITY_ORIGIN: Final = phrase("common practice, no source")

STEEL_EXPANSION: Final = 11.5e-6
"""1/K. Swyt, J. Res. NIST 99(1), 1994."""

REFERENCE_TEMPERATURE: Final = 293.15
"""K, 20 degrees C. ISO 1."""


@dataclass(frozen=True, slots=True)
class Instrument:
    """One gauge: resolution, standard uncertainty of its calibration, standard deviation of one reading; core units."""

    name: str
    kind: Kind
    resolution: float
    calibration_u: float
    repeatability: float

    def __post_init__(self) -> None:
        if self.kind not in get_args(Kind):
            raise OutOfRange("kind", self.kind, ", ".join(get_args(Kind)))
        for part in ("resolution", "calibration_u", "repeatability"):
            within(part, getattr(self, part), 0.0)


def reading_u(instrument: Instrument) -> float:
    """Return the standard uncertainty each reading has for itself, in the instrument's core unit.

    Equation: sqrt(repeatability² + resolution² / 12).

    Validity: parts that differ from reading to reading; the calibration's part does not average out: `shared_u`.

    Examples
    --------
    >>> round(reading_u(Instrument("dial", "dial", 0.01, 0.003, 0.005)), 5)
    0.00577

    References
    ----------
    JCGM 100:2008 F.2.2.1 (from memory): resolution as a rectangular distribution, 0.29 of its width.
    """
    return math.hypot(instrument.repeatability, instrument.resolution / math.sqrt(12.0))


def shared_u(instrument: Instrument) -> float:
    """Return the standard uncertainty all readings with this instrument have in common, in its core unit.

    Equation: calibration_u.

    Validity: same instrument, same calibration; it cancels in differences of two readings and stays whole in a mean.

    Examples
    --------
    >>> shared_u(Instrument("dial", "dial", 0.01, 0.003, 0.005))
    0.003

    References
    ----------
    JCGM 100:2008 F.1.2.3 (from memory): inputs correlated through one calibration.
    """
    return instrument.calibration_u


def at_reference(
    length: float,
    temperature: Measured,
    expansion: float = STEEL_EXPANSION,
    reference: float = REFERENCE_TEMPERATURE,
) -> Measured:
    """Return the length a part has at the reference temperature, with the uncertainty its temperature brings, mm.

    Equation: L0 = L / (1 + alpha (T - T0)); u = L0 alpha u(T) / (1 + alpha (T - T0)).

    Parameters
    ----------
    length : L, measured at `temperature` against a standard that is true at that moment, mm.
    temperature : T of the part, K.
    expansion : alpha, 1/K.
    reference : T0, K.

    Raises
    ------
    OutOfRange
        A temperature outside 200 to 600 K, an expansion outside 0 to 1e-4 per K.

    Validity: part at one temperature. A steel gauge as warm as the steel part grows with it: then no
    correction is due. The uncertainty returned is the temperature's alone.

    Examples
    --------
    >>> reel = at_reference(127.0, Measured(303.15, 1.0))
    >>> round(reel.value, 4), round(reel.u, 5)
    (126.9854, 0.00146)

    References
    ----------
    Steel 11.5e-6 /K: Swyt, J. Res. NIST 99(1), 1994. Reference temperature 20 degrees C: ISO 1.
    """
    within("length", length, -1e5, 1e5, "mm")
    within("temperature", temperature.value, 200.0, 600.0, "K")
    within("reference", reference, 200.0, 600.0, "K")
    grown = 1.0 + within("expansion", expansion, 0.0, 1e-4, "1/K") * (temperature.value - reference)
    reduced = length / grown
    return Measured(reduced, abs(reduced) * expansion * temperature.u / grown, temperature.dof)
