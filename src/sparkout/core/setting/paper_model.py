"""What a strip of paper does at a given gap: an editable model, common practice, no source."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import within
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from numpy.typing import NDArray

OFFICE_PAPER = 0.10
"""mm; office paper of 80 g/m2, from memory. ISO 534 is the way to measure a paper's thickness."""

USUAL_ODDS = {
    "sound": 10.0,
    "low blade": 3.0,
    "high blade": 1.5,
    "middle open": 2.0,
    "middle tight": 1.0,
    "left end low": 0.7,
    "right end low": 0.7,
    "left open": 3.0,
    "right open": 3.0,
    "off centre": 2.0,
    "bent shaft": 1.0,
    "blunt": 3.0,
    "too tight": 2.0,
    "too open": 3.0,
}
"""Odds of each explanation before the paper was tried. Common practice, no source: a workshop's own counts are better.
"low blade" and "high blade" are shared out over the blades."""


@dataclass(frozen=True, slots=True)
class PaperModel:
    """Figures of the model; every one is common practice, no source, and a workshop's own to change (mm).

    The paper is pinched below `pinch_gap`, left uncut above `cut_share` x thickness, and cut clean between; both bounds
    blur with standard deviation `blur`. A share `lapse` of trials goes any way at all; twice that when the strip was
    not held square, or nobody wrote it down.
    """

    pinch_gap: float = -0.005
    cut_share: float = 0.6
    blur: float = 0.012
    lapse: float = 0.03
    blunt_uncut: tuple[float, ...] = (0.5, 0.7, 0.85, 0.97)
    """Share of strips a blunt edge tears or folds whatever the gap: equally likely values; the rest mostly clean."""
    set_spread: float = 0.012
    """Standard deviation of the least gap about the wanted one, as set with care."""
    fault_spread: float = 0.02
    """The same where something else is wrong."""
    depths: tuple[float, ...] = (0.03, 0.05, 0.08, 0.13, 0.25)
    """Equally likely sizes of a fault."""
    odds: dict[str, float] = field(default_factory=lambda: dict(USUAL_ODDS))

    def __post_init__(self) -> None:
        within("pinch_gap", self.pinch_gap, -0.2, 0.05, "mm")
        within("cut_share", self.cut_share, 0.05, 3.0)
        within("blur", self.blur, 0.0, 0.2, "mm", above=True)
        within("lapse", self.lapse, 0.0, 0.4, above=True)
        within("set_spread", self.set_spread, 0.0, 0.2, "mm", above=True)
        within("fault_spread", self.fault_spread, 0.0, 0.2, "mm", above=True)
        for share in self.blunt_uncut:
            within("blunt_uncut", share, 0.0, 1.0)
        for depth in self.depths:
            within("depths", depth, 0.0, 2.0, "mm", above=True)
        for name, odds in self.odds.items():
            within(phrase("odds of {name}", name=name), odds, 0.0)


def outcome_probabilities(
    gap: NDArray[np.float64],
    thickness: float,
    model: PaperModel,
    *,
    square: bool | None = True,
    gap_sd: NDArray[np.float64] | float = 0.0,
) -> NDArray[np.float64]:
    """Return the probability of clean, pinched and uncut at each gap with a sharp edge, last axis 3.

    Equation: pinched = Phi((p - c)/s), uncut = Phi((c - a tau)/s), clean the rest, s^2 = blur^2 + gap_sd^2; then mixed
    with a lapse spread evenly.

    Parameters
    ----------
    gap
        c, mm, any shape.
    thickness
        tau of the paper, mm.
    model
        The figures.
    square
        Whether the strip was held square to the knife; None when not known.
    gap_sd
        Standard uncertainty of each gap, mm, broadcast against `gap`.

    Raises
    ------
    OutOfRange
        When the paper is not 0.01 to 0.5 mm thick.

    Validity: a model, common practice, no source.

    Examples
    --------
    >>> import numpy as np
    >>> outcome_probabilities(np.array([-0.05, 0.03, 0.2]), 0.1, PaperModel()).argmax(axis=-1).tolist()
    [1, 0, 2]

    References
    ----------
    Common practice, no source.
    """
    from scipy.special import ndtr

    thick = within("thickness", thickness, 0.01, 0.5, "mm")
    spread = np.sqrt(model.blur**2 + np.square(gap_sd))
    pinch = min(model.pinch_gap, model.cut_share * thick)
    out = np.empty((3, *np.broadcast_shapes(gap.shape, np.shape(spread))))  # outcome first: each block in one piece
    ndtr((pinch - gap) / spread, out=out[1])
    ndtr((gap - model.cut_share * thick) / spread, out=out[2])
    lapse = model.lapse * (1.0 if square else 2.0)
    np.subtract(1.0, out[1], out=out[0])
    out[0] -= out[2]
    out *= 1.0 - lapse
    out += lapse / 3.0
    return np.moveaxis(out, 0, -1)
