"""The strip of paper on a virtual unit."""

import numpy as np
import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.practice.paper_trial import paper_outcomes


def share(gap: float, outcome: str, rounding: float = 0.0) -> float:
    rows = paper_outcomes(np.full((50, 40), gap), 0.10, rounding, np.random.default_rng(4))
    return float(np.mean([[name == outcome for name in row] for row in rows]))


def test_too_tight_pinches_and_a_wider_gap_does_not_cut() -> None:
    assert share(-0.07, "pinched") == 1.0
    assert share(-0.01, "pinched") == pytest.approx(0.5, abs=0.05)  # at the bound: half and half
    assert share(0.025, "clean") > 0.99
    assert share(0.06, "uncut") == pytest.approx(0.5, abs=0.05)
    assert share(0.10, "uncut") == 1.0


def test_a_rounded_edge_cuts_like_a_wider_gap() -> None:
    assert share(0.02, "clean") > 0.98
    assert share(0.02, "uncut", rounding=0.07) > 0.98
    assert share(-0.07, "pinched", rounding=0.07) == 1.0


def test_rows_are_blades() -> None:
    rows = paper_outcomes([[0.0, 0.3], [0.3, 0.0], [0.0, 0.0]], 0.1, 0.0, np.random.default_rng(1))
    assert rows == (("clean", "uncut"), ("uncut", "clean"), ("clean", "clean"))


def test_no_paper_no_trial() -> None:
    with pytest.raises(OutOfRange, match="thickness"):
        paper_outcomes([[0.0]], 0.0, 0.0, np.random.default_rng(1))
    with pytest.raises(OutOfRange, match="edge_rounding"):
        paper_outcomes([[0.0]], 0.1, -0.1, np.random.default_rng(1))
