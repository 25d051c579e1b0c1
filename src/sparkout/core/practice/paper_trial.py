"""What a strip of paper shows of a virtual unit, blade by blade and station by station."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from sparkout.core.errors import all_within, within

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

Outcome = Literal["clean", "pinched", "uncut"]

_PINCHED_BELOW = -0.1
_UNCUT_ABOVE = 0.6
_SCATTER = 0.08
"""Shares of the paper's thickness."""


def paper_outcomes(
    gap: ArrayLike, thickness: float, edge_rounding: float, generator: np.random.Generator
) -> tuple[tuple[Outcome, ...], ...]:
    """Return what the paper did at every gap of an (N, S) grid, as rows of "clean", "pinched" or "uncut".

    Below a gap of -0.1 thicknesses reel and knife bear so hard that the strip is pinched. Above, it is sheared clean as
    long as gap + edge rounding stay within 0.6 thicknesses; beyond that it folds or slips through uncut. Each strip
    has its own bounds, scattered by 8 % of the thickness.

    Parameters
    ----------
    gap : between edge circle and knife, mm; negative is interference, shape (N, S).
    thickness : of the paper, mm.
    edge_rounding : radius of the worn knife edge, mm.

    Raises
    ------
    OutOfRange
        A paper of no thickness, a rounding below 0.

    Validity: a model for teaching; the paper test has no standard, and paper that is sheared measures no gap.

    Examples
    --------
    >>> paper_outcomes([[-0.05, 0.02, 0.2]], 0.10, 0.0, np.random.default_rng(1))
    (('pinched', 'clean', 'uncut'),)

    References
    ----------
    Model, common practice, no source.
    """
    paper = within("thickness", thickness, 0.0, 1.0, "mm", above=True)
    distance = all_within("gap", gap, -10.0, 30.0, "mm") / paper
    blunted = distance + within("edge_rounding", edge_rounding, 0.0, 5.0, "mm") / paper
    strip = generator.normal(0.0, _SCATTER, distance.shape)
    names = np.where(
        distance < _PINCHED_BELOW + strip, "pinched", np.where(blunted > _UNCUT_ABOVE + strip, "uncut", "clean")
    )
    return tuple(map(tuple, names.tolist()))
