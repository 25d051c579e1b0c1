"""Gauges that err like real ones: a bias drawn once per gauge, scatter per reading, steps, leaves that go or do not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from sparkout.core.errors import OutOfRange, within
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from sparkout.core.gauges.instrument import Instrument
    from sparkout.core.practice.virtual_unit import VirtualUnit

USUAL_LEAVES: Final[tuple[float, ...]] = (
    *(0.01 * n for n in range(2, 11)),
    *(0.05 * n for n in range(3, 21)),
)
"""Leaf thicknesses, mm: 0.02 to 0.10 by 0.01, then to 1.00 by 0.05. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class ErringGauge:
    """One gauge on one day: what it is said to be, and the bias that it really has.

    Examples
    --------
    >>> from sparkout.core.gauges.instrument import Instrument
    >>> gauge = ErringGauge(Instrument("tape 1", "tape", 0.1, 0.05, 0.0), bias=0.12)
    >>> gauge.reads(125.4185, np.random.default_rng(1))
    125.5
    """

    instrument: Instrument
    bias: float = 0.0

    def reads(self, truth: float, generator: np.random.Generator) -> float:
        """Return one reading of `truth`, core units: bias and scatter added, rounded to the gauge's step."""
        return float(self.reads_all(truth, generator)[()])

    def reads_all(self, truths: ArrayLike, generator: np.random.Generator) -> NDArray[np.float64]:
        """Return one reading of each of `truths`, same shape, core units."""
        exact = np.asarray(truths, dtype=np.float64)
        scatter = generator.normal(0.0, 1.0, exact.shape) * self.instrument.repeatability
        return stepped(exact + self.bias + scatter, self.instrument.resolution)

    def leaves(
        self, gap: float, generator: np.random.Generator, leaves: Sequence[float] = USUAL_LEAVES
    ) -> tuple[float, float]:
        """Return the thickest leaf that goes into a gap (0 when none does) and the thinnest that does not, mm.

        The hand feels gap + bias + scatter, drawn once for the place: leaves are tried until one is stopped.

        Raises
        ------
        OutOfRange
            A gap below 0, or one into which every leaf goes.

        Examples
        --------
        >>> from sparkout.core.gauges.instrument import Instrument
        >>> feeler = ErringGauge(Instrument("feeler", "feeler", 0.0, 0.0, 0.0))
        >>> feeler.leaves(0.18, np.random.default_rng(1), (0.10, 0.15, 0.20))
        (0.15, 0.2)
        """
        sizes = sorted(leaves)
        felt = within("gap", gap, 0.0, unit="mm") + self.bias + generator.normal() * self.instrument.repeatability
        thicker = [leaf for leaf in sizes if leaf > felt]
        if not thicker:
            raise OutOfRange(
                "gap", float(gap), phrase("below the thickest leaf, {leaf:g}", leaf=sizes[-1] if sizes else 0), "mm"
            )
        return max((leaf for leaf in sizes if leaf <= felt), default=0.0), thicker[0]


def erring(instrument: Instrument, generator: np.random.Generator) -> ErringGauge:
    """Return the gauge with a bias drawn once from its calibration's uncertainty (normal, that standard deviation).

    Examples
    --------
    >>> from sparkout.core.gauges.instrument import Instrument
    >>> erring(Instrument("tape 1", "tape", 0.1, 0.0, 0.1), np.random.default_rng(1)).bias
    0.0
    """
    return ErringGauge(instrument, float(generator.normal() * instrument.calibration_u))


def stepped(values: ArrayLike, step: float) -> NDArray[np.float64]:
    """Return values rounded to whole steps of a gauge; unchanged when the step is 0.

    Examples
    --------
    >>> stepped([0.014, 0.016], 0.01).round(9).tolist()
    [0.01, 0.02]
    """
    exact = np.asarray(values, dtype=np.float64)
    if within("step", step, 0.0) == 0.0:
        return exact
    whole: NDArray[np.float64] = np.rint(exact / step) * step
    return whole


def rattled(unit: VirtualUnit, x: ArrayLike, generator: np.random.Generator) -> NDArray[np.float64]:
    """Return by how much the reel happens to stand off for N x S dial readings at stations x, mm.

    Each reading finds either journal anywhere within its bearing's play (uniform, half the play either way) and the
    reel a straight line between: play reads as run-out.

    References
    ----------
    Model, common practice, no source.
    """
    right = (unit.station(x) + 1.0) / 2.0
    thrown = generator.uniform(-0.5, 0.5, (2, unit.reel.blade_count, right.size))
    off: NDArray[np.float64] = unit.radial_play[0] * thrown[0] * (1.0 - right) + unit.radial_play[1] * thrown[1] * right
    return off
