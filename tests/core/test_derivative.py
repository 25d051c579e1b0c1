"""Numerical derivatives against derivatives known in closed form."""

import math

import numpy as np
import pytest

from sparkout.core.derivative import slope
from sparkout.core.errors import OutOfRange


@pytest.mark.parametrize("scale", [1e-3, 0.03, 0.3])
@pytest.mark.parametrize(
    ("function", "derivative"),
    [(math.exp, math.exp), (math.sin, math.cos), (lambda x: x**5, lambda x: 5 * x**4), (math.log, lambda x: 1 / x)],
)
def test_closed_forms(function, derivative, scale: float) -> None:
    assert slope(function, 1.3, scale) == pytest.approx(derivative(1.3), rel=2e-11)


def test_straight_and_constant() -> None:
    assert slope(lambda x: 3 * x - 1, 2.0, 1.0) == 3.0
    assert slope(lambda x: 4.0 + 0 * x, 2.0, 1.0) == 0.0


def test_arrays() -> None:
    k = np.array((1.0, 2.0, 3.0))
    assert slope(lambda x: np.sin(k * x), 0.4, 0.1) == pytest.approx(k * np.cos(0.4 * k), rel=1e-10)


def test_not_finite() -> None:
    with pytest.raises(OutOfRange, match="finite values within 1 of 2"):
        slope(lambda x: x * math.nan, 2.0, 1.0)
