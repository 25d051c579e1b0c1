"""JCGM 100:2008 Annex H.3 once more, through the state of the reel: a cone under a flat prior is the guide's line.

Figures seen as quoted by two public implementations (data/jcgm100_h3.json names them). Ten millimetres along the reel
stand for a degree and the radius for the correction, so that cone/(20 mm) is the slope per degree.
"""

import numpy as np
from tests.published.evidence import evidence_table
from tests.published.printed import data, printed

from sparkout.core.reel.explanations import FaultPrior, Priors
from sparkout.core.reel.geometry import Reel
from sparkout.core.reel.observations import Observation
from sparkout.core.reel.state import reel_state

SEEN = "as quoted elsewhere"

GIVEN = data("jcgm100_h3.json")
LENGTH, RADIUS, STATED_U = 100.0, 63.5, 0.01


@evidence_table(
    "JCGM 100:2008 H.3",
    {name: printed(GIVEN[name]) for name in ("y1", "u_y1", "y2", "u_y2", "correlation", "s", "b_30", "u_b_30")},
    note="through the reel's generalised least squares; scatter from its Birge ratio",
)
def test_all_eight_figures_through_the_reel() -> dict[str, float]:
    exact = FaultPrior(0.0, 1.0, 0.2)
    x = 10.0 * (np.array(GIVEN["t"]) - GIVEN["reference_temperature"])
    readings = [
        Observation("", "radius", at, RADIUS + b, STATED_U) for at, b in zip(x.tolist(), GIVEN["b"], strict=True)
    ]
    state = reel_state(Reel(11, 2 * RADIUS, LENGTH), readings, Priors(*[exact] * 6))
    cone = next(i for i, e in enumerate(state.explanations) if e.faults == ("cone",))
    fit = state.generalised_least_squares(cone)
    assert fit.names == ("mean radius", "cone")
    birge = (fit.chi_squared / fit.degrees) ** 0.5
    covariance = fit.covariance * birge**2

    def line_at(celsius_above: float) -> np.ndarray:
        return np.array([1.0, (2 * 10 * celsius_above / LENGTH - 1) / 4])

    slope = np.array([0.0, 10 / (2 * LENGTH)])
    y1, y2, b30 = line_at(0.0), slope, line_at(10.0)
    u1, u2, u30 = (float(row @ covariance @ row) ** 0.5 for row in (y1, y2, b30))
    return {
        "y1": y1 @ fit.estimate - RADIUS,
        "u_y1": u1,
        "y2": y2 @ fit.estimate,
        "u_y2": u2,
        "correlation": float(y1 @ covariance @ y2) / (u1 * u2),
        "s": STATED_U * birge,
        "b_30": b30 @ fit.estimate - RADIUS,
        "u_b_30": u30,
    }
