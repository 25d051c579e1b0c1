"""Gap change with heat: signs, the size the reference gives, and the refusals."""

import math

import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.setting.heat import EXPANSION, gap_change_hot


def test_steel_reel_30_k_warmer_in_a_cold_frame_closes_by_21_6_micrometres() -> None:
    """Recomputed in our engineering notes from Swyt's coefficient."""
    assert gap_change_hot(125.0, 30.0, 0.0) == pytest.approx(-0.0216, abs=0.00005)


def test_only_the_difference_counts_when_both_warm_together() -> None:
    assert gap_change_hot(127.0, 25.0, 25.0) == 0.0
    opens = gap_change_hot(127.0, 25.0, 25.0, EXPANSION["steel"], EXPANSION["aluminium"])
    assert opens == pytest.approx(63.5 * 25.0 * 11.6e-6)
    assert opens > 0.0


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        ((0.0, 1.0, 1.0), "reel_diameter"),
        ((127.0, math.inf, 1.0), "reel_rise"),
        ((127.0, 1.0, -500.0), "frame_rise"),
        ((127.0, 1.0, 1.0, 11.5), "reel_expansion"),
        ((127.0, 1.0, 1.0, 1e-5, -1e-5), "frame_expansion"),
    ],
)
def test_refusals(arguments: tuple[float, ...], named: str) -> None:
    with pytest.raises(OutOfRange, match=named):
        gap_change_hot(*arguments)
