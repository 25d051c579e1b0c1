import math

import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.reel.balance import permissible


def test_velocity_of_the_mass_centre_is_the_grade() -> None:
    """The definition read backwards: the permissible offset, turning, moves at G mm/s."""
    speed = 1900 * 2 * math.pi / 60
    allowed = permissible(5.0, speed, 16.0)
    assert allowed.eccentricity * speed == pytest.approx(16.0)
    assert allowed.unbalance == pytest.approx(5.0 * allowed.eccentricity)


@pytest.mark.parametrize("bad", [(0.0, 100.0, 16.0), (5.0, 0.0, 16.0), (5.0, 100.0, 0.0), (5.0, math.inf, 16.0)])
def test_bad_values_are_refused(bad: tuple[float, float, float]) -> None:
    with pytest.raises(OutOfRange):
        permissible(*bad)
