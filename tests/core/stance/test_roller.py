"""Which diameters of a worn roller touch, against a straight edge lowered by linear programming."""

import numpy as np
import pytest
from tests.published.evidence import compared

from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.stance.roller import touching_diameters


def straight_edge(stations, diameters, length, load):
    """Of all lines above the profile, the one lowest under the load."""
    from scipy.optimize import linprog

    rows = np.column_stack([np.ones(len(stations)), stations])
    found = linprog([1.0, load], A_ub=-rows, b_ub=-np.asarray(diameters), bounds=[(None, None)] * 2, method="highs")
    return found.x[0], found.x[0] + found.x[1] * length


@pytest.mark.parametrize("seed", range(12))
def test_any_profile(seed: int) -> None:
    generator = np.random.default_rng(seed)
    stations = np.sort(generator.uniform(-20.0, 560.0, 9))
    diameters = 63.0 + generator.normal(0.0, 0.3, 9)
    load = float(generator.uniform(stations[1], stations[-2]))
    left, right = straight_edge(stations, diameters, 533.0, load)
    found = touching_diameters(stations, diameters, 533.0, load)
    for side, reference, obtained in (("left", left, found.left), ("right", right, found.right)):
        compared(
            "Straight edge lowered (linear programming)", f"touching diameter, {side}, mm",
            reference=float(reference), obtained=obtained, tolerance=1e-7,
        )  # fmt: skip


def test_grooves_and_hollows_do_not_touch() -> None:
    assert touching_diameters([0, 10, 20, 533], [63.0, 57.0, 63.0, 63.0], 533.0) == (63.0, 63.0)
    assert touching_diameters([0, 266, 533], [63.0, 61.0, 62.5], 533.0) == (63.0, 62.5)


def test_a_crowned_roller_rocks_on_its_middle() -> None:
    """The facet under the load is meant, drawn through to both ends."""
    assert touching_diameters([0, 300, 600], [62.0, 63.0, 62.0], 600.0, 400.0) == pytest.approx((64.0, 62.0))
    assert touching_diameters([0, 300, 600], [62.0, 63.0, 62.0], 600.0, 0.0) == pytest.approx((62.0, 64.0))


@pytest.mark.parametrize(
    ("given", "error", "match"),
    [
        (([0, 1], [63.0], 533.0), OutOfRange, "one for each station"),
        (([0], [63.0], 533.0), NotEnough, "two places"),
        (([0, 0], [63.0, 63.0], 533.0), OutOfRange, r"stations\[1\]"),
        (([0, 533], [63.0, np.nan], 533.0), OutOfRange, r"diameters\[1\]"),
        (([0, 533], [63.0, 63.0], 1.0), OutOfRange, "length"),
        (([0, 100], [63.0, 63.0], 533.0), OutOfRange, "load_at"),
    ],
)
def test_refusals(given, error, match) -> None:
    with pytest.raises(error, match=match):
        touching_diameters(*given)
