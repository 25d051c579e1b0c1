"""JCGM 100:2008 Annex H.3, thermometer calibration: all eight printed figures of the fitted line.

Figures seen as quoted by two public implementations (data/jcgm100_h3.json names them).
"""

import numpy as np
from tests.published.evidence import evidence_table
from tests.published.printed import data, printed

from sparkout.core.line import Line, straight_line

SEEN = "as quoted elsewhere"

GIVEN = data("jcgm100_h3.json")
NAMES = ("y1", "u_y1", "y2", "u_y2", "correlation", "s", "b_30", "u_b_30")


def fitted() -> Line:
    return straight_line(np.array(GIVEN["t"]) - GIVEN["reference_temperature"], GIVEN["b"])


@evidence_table("JCGM 100:2008 H.3", {name: printed(GIVEN[name]) for name in NAMES})
def test_all_eight_figures() -> dict[str, float]:
    line = fitted()
    at_30 = line.at(30 - GIVEN["reference_temperature"])
    values = (
        line.intercept,
        line.u_intercept,
        line.slope,
        line.u_slope,
        line.correlation,
        line.residual_sd,
        at_30.value,
        at_30.u,
    )
    return dict(zip(NAMES, values, strict=True))


def test_printed_uncertainty_is_the_lines_not_a_new_readings() -> None:
    """0.0041 at 30 degrees is the line's; a new reading there is less certain by the scatter s = 0.0035."""
    line = fitted()
    assert round(line.new_reading(10.0).u, 4) == round((line.at(10.0).u ** 2 + line.residual_sd**2) ** 0.5, 4)
    assert line.new_reading(10.0).u > 0.0053
    assert line.at(10.0).dof == 9
