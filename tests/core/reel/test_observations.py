"""Every kind's row against a gauge that reads a reel built from points in space, not from the linear formula."""

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange
from sparkout.core.reel.geometry import Reel
from sparkout.core.reel.observations import ARBITRARY, KINDS, REST_GAP_BLIND, Observation, design
from sparkout.core.reel.parameters import FIRST_BLADE

L, R, N = 533.0, 63.5, 11
REEL = Reel(N, 2 * R, L, helix_angle=0.35)
SECOND_ORDER = 1e-4
"""Offsets up to 0.1 mm square into (0.1)²/(2 x 63.5) = 8e-5 mm: what the linear model leaves out."""


class BuiltReel:
    """Points in space: each blade's edge at radius rho about a centre line that is offset, skew and bowed."""

    def __init__(self, seed: int) -> None:
        g = np.random.default_rng(seed)
        self.mean_radius, self.cone, self.barrel = R + g.normal(0, 0.3), g.normal(0, 0.4), g.normal(0, 0.1)
        self.frame, self.bow = g.normal(0, 0.3), g.normal(0, 0.1)
        self.e, self.g, self.k = g.normal(0, 0.03, (3, 2))
        self.h = g.normal(0, 0.03, N)
        self.h -= self.h.mean()

    def vector(self, more: int = 0) -> NDArray[np.float64]:
        shape = [self.mean_radius, self.cone, self.barrel, self.frame, self.bow, *self.e, *self.g, *self.k]
        return np.array([*shape, *self.h, *[0.0] * more])

    def centre(self, x: float) -> NDArray[np.float64]:
        t = 2 * x / L - 1
        return self.e + self.g * t + self.k * (1 - t * t)

    def radius(self, x: float, blade: int) -> float:
        """Distance of the edge point from the bearing axis, by Pythagoras."""
        left, right = -self.cone / 4, self.cone / 4
        arc = self.barrel * (1 / 3 - (2 * x / L - 1) ** 2)
        rho = self.mean_radius + left + (right - left) * x / L + arc + self.h[blade]
        theta = 2 * math.pi * blade / N + x * math.tan(0.35) / R
        point = self.centre(x) + rho * np.array([math.cos(theta), math.sin(theta)])
        return float(np.hypot(*point))

    def mean(self, x: float) -> float:
        return sum(self.radius(x, b) for b in range(N)) / N

    def knife(self, x: float) -> float:
        """A parabola through its ends, tilted by the frame."""
        return self.frame * (x / L - 0.5) + self.bow * 4 * x * (L - x) / L**2

    def shaft(self, x: float, angle: float, rho: float = 12.0) -> float:
        """Dial on a round shaft of radius rho: distance of its surface along a ray from the axis."""
        theta = angle + x * math.tan(0.35) / R
        ray = np.array([math.cos(theta), math.sin(theta)])
        along = float(self.centre(x) @ ray)
        across2 = float(self.centre(x) @ self.centre(x)) - along**2
        return along + math.sqrt(rho**2 - across2)


def shown(observations: list[Observation], built: BuiltReel) -> NDArray[np.float64]:
    made = design(observations, REEL)
    return made.rows @ built.vector(len(made.parameters.nuisances)) + made.constants


@pytest.mark.parametrize("seed", range(5))
def test_radius_over_all_blades_one_blade_and_a_jaw_across_an_odd_reel(seed: int) -> None:
    built = BuiltReel(seed)
    x = 410.0
    across = (2, 2, 7, 8)
    seen = shown([Observation("", "radius", x, 63.0, 0.01, blades=b) for b in ((), (4,), across)], built)
    wanted = [built.mean(x), built.radius(x, 4), sum(built.radius(x, b) for b in across) / 4]
    assert seen == pytest.approx(wanted, abs=SECOND_ORDER)


@pytest.mark.parametrize("seed", range(5))
def test_dial_differences_between_blades_and_stations_on_one_zero(seed: int) -> None:
    built = BuiltReel(seed)
    places = [(0.0, 3), (0.0, 8), (533.0, 3)]
    seen = shown([Observation("", "run-out", x, 0.0, 0.01, (b,), group="rail") for x, b in places], built)
    wanted = [built.radius(x, b) for x, b in places]
    assert np.diff(seen) == pytest.approx(np.diff(wanted), abs=SECOND_ORDER)
    assert seen[0] == pytest.approx(wanted[0] - R, abs=SECOND_ORDER)


@pytest.mark.parametrize("seed", range(8))
def test_rest_gap_of_a_knife_lowered_until_it_touches(seed: int) -> None:
    """The knife comes down on a fine grid of the mean blade; the row is taken at the place nearest where it touched."""
    built = BuiltReel(seed)
    grid = np.linspace(0, L, 2001)
    profile = np.array([built.knife(x) - built.mean(x) for x in grid])
    places = [0.0, 200.0, 266.5, 533.0]
    wanted = [built.knife(x) - built.mean(x) - profile.min() for x in places]
    made = design([Observation("", "rest gap", x, 0.0, 0.01) for x in places], REEL)
    t = 2 * grid[profile.argmin()] / L - 1
    seen = made.rows_touching(t) @ built.vector(len(made.parameters.nuisances))
    assert seen == pytest.approx(wanted, abs=2 * SECOND_ORDER)


def test_rest_gap_under_a_named_blade_sees_that_blade_and_no_other_nuisance_than_the_touch() -> None:
    built = BuiltReel(1)
    made = design([Observation("", "rest gap", 200.0, 0.0, 0.01, blades=b) for b in ((), (7,))], REEL)
    anyone, seventh = made.rows_touching(-1.0) @ built.vector(len(made.parameters.nuisances))
    assert anyone - seventh == pytest.approx(built.radius(200.0, 7) - built.mean(200.0), abs=SECOND_ORDER)
    own = made.rows[:, made.parameters.of_the_reel :]
    assert own.tolist() == [[1.0, 1.0], [1.0, 0.0]]


@pytest.mark.parametrize("seed", range(3))
def test_frame_knife_and_shaft_readings(seed: int) -> None:
    built = BuiltReel(seed)
    mounts = shown([Observation("", "frame", x, 0.0, 0.01) for x in (-50.0, 533.0)], built)
    assert np.diff(mounts) == pytest.approx([built.frame * 583 / 533], abs=1e-12)
    knife = shown([Observation("", "knife", x, 0.0, 0.01) for x in (0.0, 133.25, 533.0)], built)
    edge = [built.knife(x) for x in (0.0, 133.25, 533.0)]
    sag = edge[1] - (0.75 * edge[0] + 0.25 * edge[2])
    assert knife[1] - (0.75 * knife[0] + 0.25 * knife[2]) == pytest.approx(sag, abs=1e-12)
    angles = (0.0, 1.0, 2.5)
    shaft = shown([Observation("", "shaft", 300.0, 0.0, 0.01, angle=a) for a in angles], built)
    wanted = [built.shaft(300.0, a) for a in angles]
    assert np.diff(shaft) == pytest.approx(np.diff(wanted), abs=1e-3)  # (0.1)²/(2 x 12) on a thin shaft


def test_a_rail_out_of_parallel_adds_a_slope_over_the_length() -> None:
    made = design(
        [Observation("", "run-out", x, 0.0, 0.01, (0,), group="rail", u_rail=0.03) for x in (0.0, 533.0)], REEL
    )
    slope = made.parameters.index("slope of run-out, rail")
    assert made.rows[1, slope] - made.rows[0, slope] == 1.0
    assert made.nuisance_sd[slope - made.parameters.of_the_reel] == 0.03


def test_zeros_are_arbitrary_by_nature_and_per_station_without_a_group() -> None:
    dial = [Observation("", "run-out", x, 0.0, 0.01, (b,)) for x in (0.0, 533.0) for b in (0, 1)]
    made = design(dial, REEL)
    assert made.parameters.nuisances == ("zero of run-out at 0 mm", "zero of run-out at 533 mm")
    assert made.nuisance_sd.tolist() == [ARBITRARY, ARBITRARY]
    assert made.free.all()
    stated = design([Observation("", "run-out", 0.0, 0.0, 0.01, (0,), group="A", u_group=0.2)], REEL)
    assert stated.nuisance_sd.tolist() == [0.2]
    assert not stated.free.any()


def test_a_shared_calibration_needs_a_group_else_it_is_the_readings_own() -> None:
    alone = design([Observation("", "radius", 0.0, 63.0, 0.03, u_group=0.04)], REEL)
    assert alone.u.tolist() == [0.05]
    assert alone.parameters.nuisances == ()
    shared = design([Observation("", "radius", x, 63.0, 0.03, group="tape", u_group=0.04) for x in (0.0, 9.0)], REEL)
    assert shared.u.tolist() == [0.03, 0.03]
    assert shared.nuisance_sd.tolist() == [0.04]
    assert (shared.rows[:, -1] == 1.0).all()


def test_rows_of_readings_other_than_rest_gaps_do_not_depend_on_where_a_knife_touches() -> None:
    made = design([Observation("", "radius", 9.0, 63.0, 0.1)], REEL)
    assert made.rows_touching(1.0) is made.rows


def test_no_readings_make_an_empty_design() -> None:
    assert design([], REEL).rows.shape == (0, FIRST_BLADE + N)


@pytest.mark.parametrize(
    ("wrong", "named"),
    [
        ({"kind": "smell"}, "kind"),
        ({"x": math.nan}, "x"),
        ({"value": math.inf}, "value"),
        ({"u": 0.0}, "u"),
        ({"u_group": -1.0}, "u_group"),
        ({"u_rail": math.nan}, "u_rail"),
        ({"angle": 1.0}, "angle"),
        ({"kind": "shaft"}, "angle"),
        ({"kind": "shaft", "angle": math.nan}, "angle"),
    ],
)
def test_a_reading_that_cannot_be_is_refused_by_name(wrong: dict, named: str) -> None:
    with pytest.raises(OutOfRange, match=named):
        Observation(**{"label": "a", "kind": "radius", "x": 1.0, "value": 63.0, "u": 0.1} | wrong)


@pytest.mark.parametrize("kind", KINDS)
def test_a_station_off_the_reel_is_refused(kind: str) -> None:
    angle = 0.0 if kind == "shaft" else None
    with pytest.raises(OutOfRange, match="x of 'far'"):
        design([Observation("far", kind, 900.0, 0.1, 0.1, angle=angle)], REEL)


def test_a_blade_the_reel_lacks_and_a_blade_on_a_frame_reading_are_refused() -> None:
    with pytest.raises(OutOfRange, match="blade of 'dial'"):
        design([Observation("dial", "run-out", 0.0, 0.0, 0.1, (11,))], REEL)
    with pytest.raises(NotEnough, match="no blade"):
        design([Observation("mount", "frame", 0.0, 0.0, 0.1, (1,))], REEL)


def test_one_group_with_two_uncertainties_contradicts_itself() -> None:
    pair = [Observation("", "radius", 0.0, 63.0, 0.1, group="tape", u_group=u) for u in (0.02, 0.03)]
    with pytest.raises(Contradiction, match="offset of radius, tape"):
        design(pair, REEL)


def test_what_a_rest_gap_is_blind_to_is_stated_and_true() -> None:
    """Blind directions: mean radius; cone with half of it as frame; barrel with the same knife bow."""
    made = design([Observation("", "rest gap", x, 0.0, 0.01) for x in (0.0, 100.0, 266.5, 533.0)], REEL)
    rows = made.rows_touching(1.0)[:, :5]
    for blind in ([1, 0, 0, 0, 0], [0, 2, 0, 1, 0], [0, 0, 1, 0, 1]):
        assert np.abs(rows @ np.array(blind, dtype=float)).max() < 1e-15
    for word in ("mean radius", "cone", "parallel", "barrel", "bowed", "half the cone"):
        assert word in REST_GAP_BLIND
