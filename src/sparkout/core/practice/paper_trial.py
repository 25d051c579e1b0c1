"""What a strip of paper shows of a virtual unit, blade by blade and station by station."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from sparkout.core.errors import all_within, within

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

Outcome = Literal["clean", "pinched", "uncut"]

_CLEAN_UP_TO = 0.5
_HELD_UP_TO = 1.0
_SCATTER = 0.08
"""Shares of the paper's thickness."""


def paper_outcomes(
    gap: ArrayLike, thickness: float, edge_rounding: float, generator: np.random.Generator
) -> tuple[tuple[Outcome, ...], ...]:
    """Return what the paper did at every gap of an (N, S) grid, as rows of "clean", "pinched" or "uncut".

    The paper meets an opening of gap + edge rounding. Up to half its thickness it is sheared clean, up to its
    thickness folded in and pinched, beyond that left uncut; the two bounds scatter by 8 % of the thickness.

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
    >>> paper_outcomes([[0.0, 0.07, 0.2]], 0.10, 0.0, np.random.default_rng(1))
    (('clean', 'pinched', 'uncut'),)

    References
    ----------
    Model, common practice, no source.
    """
    paper = within("thickness", thickness, 0.0, 1.0, "mm", above=True)
    opening = (
        all_within("gap", gap, -10.0, 30.0, "mm") + within("edge_rounding", edge_rounding, 0.0, 5.0, "mm")
    ) / paper
    felt = opening + generator.normal(0.0, _SCATTER, opening.shape)
    names: tuple[Outcome, ...] = ("clean", "pinched", "uncut")
    grades = np.searchsorted((_CLEAN_UP_TO, _HELD_UP_TO), felt)
    return tuple(tuple(names[grade] for grade in row) for row in grades.tolist())
