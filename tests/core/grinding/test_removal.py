import math

import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.grinding.removal import removal, removal_rate


def test_rate_is_the_volume_of_lands_passed_per_second() -> None:
    """Independent count: lands of a reel 500 mm long, taken down by the infeed, in the time one traverse takes."""
    infeed, land, blades, speed, helix = 0.012, 1.1, 9, 40.0, math.radians(18)
    edge_length = 500.0 / math.cos(helix)
    volume = infeed * land * edge_length * blades
    result = removal(infeed, land, blades, speed, 25.0, 50_000.0, helix)
    assert result.removal_rate == pytest.approx(volume / (500.0 / speed))
    assert result.specific_removal_rate * 25.0 == pytest.approx(result.removal_rate)
    assert result.power == pytest.approx(result.removal_rate * 50_000.0)


def test_one_joule_per_cubic_millimetre_is_one_watt_at_one_cubic_millimetre_per_second() -> None:
    watts = removal(0.01, 1.0, 10, 10.0, 20.0, 1000.0).power / 1000.0  # N mm/s to W
    assert watts == pytest.approx(1.0)


def test_no_infeed_removes_nothing() -> None:
    assert removal_rate(100.0, 1.0, 0.0) == 0.0


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"infeed": -0.01}, "infeed"),
        ({"land": math.nan}, "land"),
        ({"blade_count": 0}, "blade_count"),
        ({"traverse_speed": -1.0}, "traverse_speed"),
        ({"wheel_width": 0.0}, "wheel_width"),
        ({"specific_energy": -1.0}, "specific_energy"),
        ({"helix_angle": 90.0}, "helix_angle"),
    ],
)
def test_bad_values_are_named(change: dict[str, float], named: str) -> None:
    good = {
        "infeed": 0.01,
        "land": 1.0,
        "blade_count": 11,
        "traverse_speed": 50.0,
        "wheel_width": 20.0,
        "specific_energy": 5e4,
    }
    with pytest.raises(OutOfRange, match=named):
        removal(**(good | change))
