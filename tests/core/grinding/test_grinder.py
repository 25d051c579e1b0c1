import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.grinding.grinder import Grinder
from sparkout.core.measured import Measured

GOOD = {
    "give": Measured(0.7, 0.1),
    "g_ratio": Measured(60, 20),
    "wheel_diameter": 120.0,
    "wheel_width": 20.0,
    "spindle_speed": 300.0,
    "traverse_speed": 40.0,
    "work_speed": 30.0,
    "rough_infeed": 0.02,
    "finish_infeed": 0.01,
    "spark_out_passes": 3,
    "mount_spacing": 650.0,
    "thread_pitch": 1.5,
    "divisions_per_turn": 50.0,
    "specific_energy": 5e4,
}


def test_a_whole_grinder_is_taken():
    assert Grinder(**GOOD).marked_speed is None
    assert Grinder(**GOOD, marked_speed=45_000.0).marked_speed == 45_000.0


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"give": Measured(1.2, 0.1)}, "give"),
        ({"give": Measured(0.7, 0.9)}, "give's uncertainty"),
        ({"g_ratio": Measured(0.0, 1.0)}, "g_ratio"),
        ({"wheel_diameter": 0.0}, "wheel_diameter"),
        ({"wheel_width": 0.0}, "wheel_width"),
        ({"spindle_speed": 0.0}, "spindle_speed"),
        ({"traverse_speed": 0.0}, "traverse_speed"),
        ({"work_speed": 0.0}, "work_speed"),
        ({"rough_infeed": 2.0}, "rough_infeed"),
        ({"finish_infeed": 0.03}, "finish_infeed"),
        ({"spark_out_passes": -1}, "spark_out_passes"),
        ({"mount_spacing": 0.0}, "mount_spacing"),
        ({"thread_pitch": 0.0}, "thread_pitch"),
        ({"divisions_per_turn": 0.0}, "divisions_per_turn"),
        ({"specific_energy": 0.0}, "specific_energy"),
        ({"marked_speed": 0.0}, "marked_speed"),
    ],
)
def test_bad_values_are_named(change, named):
    with pytest.raises(OutOfRange, match=named):
        Grinder(**(GOOD | change))
