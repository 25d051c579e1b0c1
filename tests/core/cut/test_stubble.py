"""Stubble: the reference's table (own working, a model) and a numerical mean."""

import numpy as np
import pytest

from sparkout.core.cut.stubble import STANDING, stubble
from sparkout.core.errors import OutOfRange


@pytest.mark.parametrize(
    ("share", "longest", "spread", "mean"),
    [
        (0.25, 1.03, 3, 1.01),
        (0.5, 1.12, 12, 1.04),
        (0.75, 1.25, 25, 1.09),
        (1.0, 1.41, 41, 1.15),
        (1.25, 1.60, 60, 1.22),
        (1.5, 1.80, 80, 1.30),
        (2.0, 2.24, 124, 1.48),
    ],
)
def test_reference_table(share: float, longest: float, spread: float, mean: float) -> None:
    height = 4.0
    left = stubble(height, share * height)
    assert left.longest / height == pytest.approx(longest, abs=0.0051)
    assert 100 * left.spread / height == pytest.approx(spread, abs=0.51)
    assert left.mean / height == pytest.approx(mean, abs=0.0051)
    assert left.standing == STANDING
    assert "model without a field trial" in STANDING


@pytest.mark.parametrize(("height", "travel"), [(3.2, 4.1), (12.0, 1e-6), (1.0, 500.0)])
def test_mean_agrees_with_a_plain_sum(height: float, travel: float) -> None:
    """Brute force: average over many rooted leaves."""
    rooted = (np.arange(100_000) + 0.5) / 100_000 * travel
    assert stubble(height, travel).mean == pytest.approx(float(np.hypot(height, rooted).mean()), rel=1e-9)


@pytest.mark.parametrize(("height", "travel", "named"), [(0.0, 4.0, "height_of_cut"), (4.0, -1.0, "clip")])
def test_refusals(height: float, travel: float, named: str) -> None:
    with pytest.raises(OutOfRange, match=named):
        stubble(height, travel)
