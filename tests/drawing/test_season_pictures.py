"""Pictures of money, parts and the sharpening interval: what is said, where it stands, and what is refused."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.drawing import gallery
from tests.drawing.looking import SVG, parsed, problems, texts

from sparkout.core.errors import OutOfRange
from sparkout.drawing.amounts import Amount, amounts
from sparkout.drawing.interval import interval_curve


@pytest.mark.parametrize("name", ["how-often", "next-budget", "parts-by-month"])
@pytest.mark.parametrize("manner", gallery.MANNERS.values())
@pytest.mark.parametrize("width", [320, 390, 760])
def test_every_picture_is_sound(name, manner, width):
    assert problems(gallery.PICTURES[name]({**manner, "width": width})) == []


def test_the_best_interval_is_written_and_stands_on_the_curve():
    svg = interval_curve([10, 20, 40], [3.0, 2.0, 2.5], best=30, flat=(18, math.inf), time=lambda v: f"{v:g} h")
    said = texts(parsed(svg))
    assert "costs least: every 30 h, 2.25 an hour" in said
    assert "hardly dearer: 18 h to 40 h" in said
    labels = {t.text: (float(t.get("x")), float(t.get("y"))) for t in parsed(svg).iter(SVG + "text")}
    mark = next(e for e in parsed(svg).iter(SVG + "circle"))
    assert float(mark.get("cx")) == pytest.approx((labels["20 h"][0] + labels["40 h"][0]) / 2, abs=8)


def test_a_flat_curve_looks_flat():
    svg = interval_curve([10, 20, 30], [1.0, 1.001, 1.0])
    line = next(p for p in parsed(svg).iter(SVG + "path") if p.get("fill") == "none")
    heights = [float(pair.split()[1].split(",")[0]) if " " in pair else 0.0 for pair in line.get("d").split("L")[1:]]
    assert max(heights) - min(heights) < 4


def test_amounts_are_written_and_as_long_as_they_are_large():
    svg = amounts("spend", [Amount("labour", 200.0, 100.0, 400.0), Amount("wheel", 50.0)], show=lambda v: f"{v:.0f}")
    assert {"What it costs", "labour", "200", "wheel", "50", "90\u00a0% interval"} <= {
        text.replace("90 %", "90\u00a0%") for text in texts(parsed(svg))
    }
    widths = [float(r.get("width")) for r in parsed(svg).iter(SVG + "rect")]
    assert widths[1] == pytest.approx(widths[0] / 2)
    assert widths[3] == pytest.approx(widths[0] / 8)
    assert "labour: 200 (100 .. 400)" in svg


def test_nothing_at_all_is_drawn_as_nothing():
    svg = amounts("budget", [Amount("labour", 0.0)])
    assert problems(svg) == []
    assert "interval" not in svg


@given(
    st.lists(
        st.tuples(st.text(max_size=60), st.floats(0, 1e9), st.none() | st.tuples(st.floats(0, 1e9), st.floats(0, 1e9))),
        min_size=1,
        max_size=6,
    )
)
@settings(max_examples=15, deadline=None)
def test_any_amounts(rows):
    bars = [Amount(name, value, *(sorted(ends) if ends else ())) for name, value, ends in rows]
    assert problems(amounts("demand", bars)) == []


@given(st.lists(st.floats(0.1, 500), min_size=2, max_size=12, unique=True), st.data(), st.floats(0, 1), st.booleans())
@settings(max_examples=15, deadline=None)
def test_any_curve(hours, data, share, wide):
    at = sorted(hours)
    costs = [data.draw(st.floats(1e-3, 1e6)) for _ in at]
    best = min(at[0] + share * (at[-1] - at[0]), at[-1])
    svg = interval_curve(at, costs, best=best, flat=(best, math.inf) if wide else None)
    assert problems(svg) == []


@pytest.mark.parametrize(
    ("kind", "rows"),
    [
        ("other", [Amount("a", 1.0)]),
        ("spend", []),
        ("spend", [Amount("a", 1.0)] * 81),
        ("spend", [Amount("a", -1.0)]),
        ("spend", [Amount("a", math.nan)]),
        ("spend", [Amount("a", 1.0, 0.5)]),
        ("spend", [Amount("a", 1.0, 2.0, 1.0)]),
    ],
)
def test_bad_amounts_are_refused(kind, rows):
    with pytest.raises(OutOfRange):
        amounts(kind, rows)


@pytest.mark.parametrize(
    ("hours", "costs", "best"),
    [([1], [1], None), ([1, 1], [1, 1], None), ([0, 1], [1, 1], None), ([1, 2], [0, 1], None), ([1, 2], [1], None),
     ([1, 2], [1, 1], 3.0), ([1, 2], [1, math.nan], None)],
)  # fmt: skip
def test_bad_curves_are_refused(hours, costs, best):
    with pytest.raises(OutOfRange):
        interval_curve(hours, costs, best=best)
