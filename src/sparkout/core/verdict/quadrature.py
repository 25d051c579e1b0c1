"""Gauss-Legendre nodes over many panels at once."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


@lru_cache(maxsize=16)
def _rule(order: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    nodes, weights = np.polynomial.legendre.leggauss(order)
    return nodes, weights


def panel_nodes(
    left: NDArray[np.float64], right: NDArray[np.float64], order: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return nodes and weights, each (panels, order), that integrate over every panel [left, right].

    Equation: exact for polynomials up to degree 2 order - 1 on each panel.

    Examples
    --------
    >>> nodes, weights = panel_nodes(np.array([0.0, 1.0]), np.array([1.0, 2.0]), 3)
    >>> round(float((weights * nodes**2).sum()), 12)
    2.666666666667

    References
    ----------
    Gauss-Legendre quadrature, nodes from numpy.polynomial.legendre.leggauss.
    """
    nodes, weights = _rule(order)
    half = 0.5 * (right - left)
    middle = 0.5 * (right + left)
    return middle[:, None] + half[:, None] * nodes, half[:, None] * weights


def panels_between(
    low: float, high: float, breaks: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the left and right ends of the panels that the breaks cut [low, high] into."""
    inside = np.unique(np.concatenate(([low, high], breaks[(breaks > low) & (breaks < high)])))
    return inside[:-1], inside[1:]
