import math

import numpy as np
import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.grinding.relief import relief_plan, relief_stock, uneven_land
from sparkout.core.measured import Measured
from sparkout.core.reel.geometry import Reel
from sparkout.core.reel.land import land_after_grind

REEL = Reel(11, 127.0, 533.0, math.radians(18), land=1.0, blade_thickness=6.0)
FEEDS = {"relief_infeed": 0.03, "traverse_speed": 50.0, "wheel_width": 12.0}


def depth_on_the_arc(land, wanted, alpha, radius):
    """Brute force in the plane: how deep the point at the wanted land lies below the old facet's line."""

    def on_circle(width):
        return radius * np.array([math.cos(width / radius), math.sin(width / radius)])

    back = on_circle(land)
    tangent = np.array([-back[1], back[0]]) / radius
    along = math.cos(alpha) * tangent - math.sin(alpha) * back / radius
    across = np.array([along[1], -along[0]])
    return abs(float((on_circle(wanted) - back) @ across))


@pytest.mark.parametrize("degrees", [30, 45, 60])
def test_stock_is_the_flat_rule_within_a_hundredth_of_the_arc(degrees):
    alpha = math.radians(degrees)
    flat = relief_stock(1.5, 1.0, alpha)
    assert flat == pytest.approx(0.5 * math.sin(alpha))
    assert flat == pytest.approx(depth_on_the_arc(1.5, 1.0, alpha, 63.5), rel=0.01)


def test_docstring_bound_of_the_flat_rule():
    exact = depth_on_the_arc(1.5, 1.0, math.radians(45), 50.0)
    assert relief_stock(1.5, 1.0, math.radians(45)) == pytest.approx(exact, rel=0.0051)


def test_a_narrow_land_needs_no_relief():
    assert relief_stock(0.8, 1.0, 0.7) == 0.0
    plan = relief_plan(REEL, Measured(0.8, 0.05), 1.0, **FEEDS, spark_out_passes=2, land_limit=1.3)
    assert plan.due is False
    assert (plan.passes_per_blade, plan.volume, plan.time, plan.land_after) == (0, 0.0, 0.0, 0.8)


def test_uneven_land_gives_back_the_cone_that_was_spun_true():
    """Forward by the exact arc form, back by the flat rule: the cone that was there comes out within a few per cent."""
    cone, alpha = 0.3, math.radians(45)
    left = land_after_grind(1.0, alpha, 0.02, 124.0)
    right = land_after_grind(1.0, alpha, 0.02 + cone / 2, 124.0 + cone)
    told = uneven_land(Measured(left, 0.02), Measured(right, 0.02), alpha)
    assert told.old_cone.value == pytest.approx(cone, rel=0.02)
    assert told.proven
    assert not uneven_land(Measured(1.0, 0.1), Measured(1.1, 0.1), alpha).proven


def test_uneven_lands_are_met_by_fewer_passes_at_the_narrow_end():
    lands = (Measured(1.2, 0.05), Measured(1.3, 0.05), Measured(1.4, 0.05))
    plan = relief_plan(REEL, lands, 1.0, **FEEDS, land_limit=1.35)
    sine = math.sin(REEL.relief_angle)
    assert [end.stock.value for end in plan.ends] == pytest.approx([0.2 * sine, 0.3 * sine, 0.4 * sine])
    assert [end.passes for end in plan.ends] == [math.ceil(s * sine / 0.03) for s in (0.2, 0.3, 0.4)]
    assert plan.ends[0].stock.u == pytest.approx(0.05 * sine)
    assert plan.due
    assert plan.heaviest_stock == plan.ends[2].stock.value
    assert plan.uneven.old_cone.value == pytest.approx(0.4)
    assert "relief grind" in plan.cautions


def test_volume_is_the_strip_between_the_facets():
    """Shoelace of the strip between old and new facet of a flat section, times edge length and blades."""
    land, wanted, thickness, alpha = 1.4, 1.0, REEL.blade_thickness, REEL.relief_angle
    corners = [
        (wanted, 0.0),
        (land, 0.0),
        (thickness, -(thickness - land) * math.tan(alpha)),
        (thickness, -(thickness - wanted) * math.tan(alpha)),
    ]
    area = 0.5 * abs(
        sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1], strict=True))
    )
    plan = relief_plan(REEL, Measured(land, 0.0), wanted, **FEEDS)
    assert plan.volume == pytest.approx(area * 11 * 533.0 / math.cos(math.radians(18)), rel=1e-9)
    assert plan.due is None


def test_time_is_every_stroke_on_every_blade():
    plan = relief_plan(REEL, Measured(1.4, 0.0), 1.0, **FEEDS, spark_out_passes=2, indexing_time=20.0)
    stroke = (533.0 / math.cos(math.radians(18)) + 12.0) / 50.0
    assert plan.time == pytest.approx(11 * ((plan.passes_per_blade + 2) * stroke + 20.0))


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"land_wanted": 0.0}, "land_wanted"),
        ({"land_wanted": 7.0}, "land_wanted"),
        ({"relief_infeed": 0.0}, "relief_infeed"),
        ({"traverse_speed": 0.0}, "traverse_speed"),
        ({"wheel_width": 0.0}, "wheel_width"),
        ({"land_limit": 0.0}, "land_limit"),
        ({"spark_out_passes": -1}, "spark_out_passes"),
        ({"indexing_time": -1.0}, "indexing_time"),
    ],
)
def test_bad_values_are_named(change, named):
    good = {"land_wanted": 1.0} | FEEDS | change
    with pytest.raises(OutOfRange, match=named):
        relief_plan(REEL, Measured(1.4, 0.05), **good)
