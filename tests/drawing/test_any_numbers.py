"""Whatever finite numbers come in: a sound picture, or a refusal that says why. Nothing else."""

import math

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.drawing.looking import problems

from sparkout.core.errors import Refusal
from sparkout.drawing.cone import cone_drawn_out
from sparkout.drawing.knife import knife_section
from sparkout.drawing.land import land_close_up
from sparkout.drawing.on_reel import knife_on_reel
from sparkout.drawing.passes import KINDS, pass_chart
from sparkout.drawing.prediction import predicted_against_measured
from sparkout.drawing.trade import trade_line
from sparkout.drawing.unrolled import unrolled_reel

few = settings(max_examples=40, deadline=None, derandomize=True)
sane = st.floats(-1e9, 1e9)
wild = st.sampled_from([0.0, -1.0, math.nan, math.inf, 1e300, 5e-324])
share = st.floats(0, 1)


def mostly(usual):
    """A usual value, one time in some twenty a wild one."""
    return st.integers(0, 19).flatmap(lambda i: wild if i == 0 else usual)


def sound_or_refused(draw, *given_, **named):
    try:
        svg = draw(*given_, **named)
    except Refusal:
        return
    assert problems(svg) == []


@few
@given(st.data(), st.integers(1, 15), st.integers(1, 12))
def test_unrolled(data, blades, stations):
    size = data.draw(st.sampled_from([1e-6, 1e-2, 1.0, 1e8]))
    rows = st.lists(st.floats(-size, size), min_size=stations, max_size=stations)
    table = data.draw(st.lists(rows, min_size=blades, max_size=blades))
    places = sorted(data.draw(st.lists(st.floats(0, 200), min_size=stations, max_size=stations, unique=True)))
    place = st.tuples(mostly(st.floats(0, 200)), st.none() | st.integers(0, blades - 1))
    sound_or_refused(
        unrolled_reel, table, places, data.draw(mostly(st.floats(200, 300))), next_reading=data.draw(place),
        lowest=data.draw(place), readings=[(*data.draw(place), "label")],
    )  # fmt: skip


@few
@given(
    st.lists(st.tuples(sane, sane, sane, sane), min_size=2, max_size=12, unique_by=lambda p: p[0]),
    mostly(st.floats(1e-3, 1e9)),
    mostly(st.floats(1e-3, 1e9)),
)
def test_cone(points, finish, limit):
    columns = list(zip(*sorted(points), strict=True))
    sound_or_refused(cone_drawn_out, *columns, finish_radius=finish, service_radius=limit)


@few
@given(
    mostly(st.floats(20, 1e4)),
    st.floats(0, 20),
    st.floats(0, 20),
    st.floats(0.02, 1.55),
    mostly(share),
    st.floats(1, 20),
)
def test_land(radius, before, after, angle, removed, thickness):
    for relieved in (True, False):
        sound_or_refused(land_close_up, radius, before, after, angle, removed, thickness, relieved)


@few
@given(
    st.lists(st.tuples(st.floats(0, 200), st.floats(0, 200)), min_size=3, max_size=8),
    st.floats(-0.15, 1),
    st.floats(-0.15, 0.4),
    *[mostly(st.floats(0, 100))] * 3,
)
def test_knife(corners, top, front, rounding, stock_top, stock_front):
    sound_or_refused(
        knife_section, corners, corners, top, front,
        edge_radius=rounding, stock_top=stock_top, stock_front=stock_front,
    )  # fmt: skip


@few
@given(
    *[mostly(st.floats(-250, 250))] * 2,
    *[st.floats(-120, 120)] * 2,
    st.floats(-60, 60),
    st.none() | st.floats(-250, 250),
)
def test_on_reel(pivot_behind, pivot_below, behind, below, gap, ground):
    sound_or_refused(
        knife_on_reel, 63.5, (pivot_behind, pivot_below), (behind, below), behind, gap, math.atan2(behind, below),
        ground_below=ground, blade_count=7,
    )  # fmt: skip


@few
@given(st.lists(st.tuples(st.text(max_size=20), sane, mostly(share), sane, sane, st.sampled_from(KINDS)), max_size=8))
def test_passes(rows):
    sound_or_refused(pass_chart, rows)


@few
@given(st.lists(st.tuples(share, sane), min_size=2, max_size=8), st.tuples(share, sane))
def test_trade(points, chosen):
    sound_or_refused(trade_line, *zip(*points, strict=True), chosen=chosen)


@few
@given(st.lists(st.tuples(st.text(max_size=60), sane, st.floats(0, 1e9), sane, st.floats(0, 1e9)), max_size=6))
def test_prediction(rows):
    sound_or_refused(predicted_against_measured, rows)


def test_on_reel_with_the_edge_straight_above_the_axis():
    svg = knife_on_reel(63.5, (0.0, 0.0), (0.0, -101.0), 0.0, 0.0, math.pi, blade_count=7)
    assert problems(svg) == []
