"""Clip chart, causes of ribs and the strip in relief: what they show, looked at, and hostile input."""

import base64
import io
import math
import re
import subprocess
import sys
from pathlib import Path

import font_source_sans_pro
import numpy as np
import pytest
import typst
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from tests.drawing import gallery
from tests.drawing.looking import SVG, parsed, problems, texts

from sparkout.core.errors import OutOfRange, Refusal
from sparkout.drawing.clip import clip_chart
from sparkout.drawing.ribs import rib_causes
from sparkout.drawing.strip import relief_png, ribbed_strip

TURN = 2 * math.pi
few = settings(max_examples=40, deadline=None, derandomize=True)


def stubble(rows: int = 100, columns: int = 400) -> np.ndarray:
    """An invented strip: clip every 9 places, a longer one every 99, aslant."""
    x, y = np.arange(columns)[None, :], np.arange(rows)[:, None]
    at = x - 0.05 * y
    return 4.0 + 0.2 * (at % 9.0) + 1.5 * ((at % 99.0) > 90.0)


STRIPS = {
    "plain": {}, "us": {"words": gallery.US, "length": gallery.inches, "unit": 25.4}, "wide": {"width": 780.0},
    "narrow": {"width": 320.0}, "untitled": {"titled": False},
    "long figures": {"length": lambda v: f"{v:017.9f} millimetres"},
    "long words": {"words": {"left": "Grundüberholung " * 6, "ribbed_strip": "immer weiter & <weiter> " * 9}},
}  # fmt: skip


class TestClipChart:
    def lines(self, svg: str) -> list[tuple[float, float, float, float]]:
        found = [e for e in parsed(svg).iter(SVG + "line") if e.get("stroke") == "#1f5f9e"]
        return [tuple(float(e.get(key)) for key in ("x1", "y1", "x2", "y2")) for e in found]

    def test_lines_of_equal_clip_point_at_no_speed_at_all(self):
        """From the axes drawn: reel 0..200 rad/s, travel 0..3000 mm/s; all lines start in the same corner."""
        svg = clip_chart((0.0, 200.0), (0.0, 3000.0), 10, [2.0, 5.0, 9.0])
        starts = {(x1, y1) for x1, y1, _, _ in self.lines(svg)}
        assert len(starts) == 1

    def test_line_ends_where_its_clip_leaves_the_chart(self):
        svg = clip_chart((0.0, 200.0), (0.0, 3000.0), 10, [6.0])
        ((x1, y1, x2, y2),) = self.lines(svg)
        top = min(float(e.get("y1")) for e in parsed(svg).iter(SVG + "line"))
        leaves = 6.0 * 200.0 * 10 / TURN
        assert leaves < 3000.0, "on the right"
        assert (y1 - y2) / (y1 - top) == pytest.approx(leaves / 3000.0, rel=0.01)
        assert x2 > x1

    def test_clip_that_does_not_cross_the_chart_is_left_out(self):
        assert len(self.lines(clip_chart((100.0, 200.0), (1000.0, 3000.0), 10, [0.1, 5.0, 900.0]))) == 1

    def test_says_the_clip_now_and_whose_the_band_is(self):
        said = " ".join(
            texts(parsed(clip_chart((100, 200), (800, 2000), 11, [4], band=(3, 5, "house"), now=(157, 1250))))
        )
        clip = TURN * 1250 / (157 * 11)
        assert f"now: clip {clip:.6g} mm" in said
        assert "clip 3 mm to 5 mm (house)" in said

    def test_point_outside_the_chart_is_told_and_not_drawn(self):
        inside = clip_chart((100, 200), (800, 2000), 11, [4], now=(157, 1250))
        outside = clip_chart((100, 200), (800, 2000), 11, [4], now=(500, 1250))
        assert "now: clip" in " ".join(texts(parsed(outside)))
        assert inside.count("<circle") == outside.count("<circle") + 1
        assert "now" not in " ".join(texts(parsed(clip_chart((100, 200), (800, 2000), 11, [4], now=(0.0, 1250)))))

    @pytest.mark.parametrize(
        ("more", "named"),
        [
            ({"reel_speeds": (200, 100)}, "reel_speeds"),
            ({"travel_speeds": (-1, 100)}, "travel_speeds"),
            ({"blade_count": 0}, "blade_count"),
            ({"clips": [0.0]}, "clips"),
            ({"clips": range(1, 30)}, "number of clips"),
            ({"band": (5, 3, "house")}, "coarsest clip"),
            ({"now": (math.nan, 1)}, "now reel"),
            ({"land_clip": 0.0}, "land_clip"),
        ],
    )
    def test_refusals(self, more, named):
        given_ = {"reel_speeds": (100, 200), "travel_speeds": (800, 2000), "blade_count": 11, "clips": [4], **more}
        with pytest.raises(OutOfRange, match=rf"^{named}"):
            clip_chart(**given_)


class TestRibCauses:
    def test_bars_lie_in_the_order_of_their_pitches(self):
        rows = [("a", 5.0, 4.0, 6.0, 0.2), ("b", 50.0, 40.0, 60.0, 0.7), ("c", 500.0, 400.0, 600.0, 0.1)]
        svg = rib_causes((45.0, 44.0, 46.0), rows)
        places = [float(e.get("cx")) for e in parsed(svg).iter(SVG + "circle")][:3]
        assert places[2] - places[1] == pytest.approx(places[1] - places[0], abs=0.02), "a scale of ratios"
        said = " ".join(texts(parsed(svg)))
        assert "70 %" in said
        assert "pitch measured: 45 mm" in said

    @pytest.mark.parametrize(
        ("measured", "rows", "named"),
        [
            ((45, 44, 46), [], "number of rows"),
            ((45, 44, 46), [("a", 1, 1, 1, 0.1)] * 31, "number of rows"),
            ((45, 0, 46), [("a", 1, 1, 1, 0.1)], "measured low"),
            ((45, 46, 47), [("a", 1, 1, 1, 0.1)], "measured pitch"),
            ((45, 44, 46), [("a", 5, 4, 3, 0.1)], "rows.0. high"),
            ((45, 44, 46), [("a", 5, 4, 6, 1.1)], "rows.0. chance"),
        ],
    )
    def test_refusals(self, measured, rows, named):
        with pytest.raises(OutOfRange, match=rf"^{named}"):
            rib_causes(measured, rows)


class TestStrip:
    @pytest.mark.parametrize("manner", STRIPS.values(), ids=STRIPS.keys())
    def test_nothing_wrong(self, manner):
        assert problems(ribbed_strip(stubble(), 0.5, close_up=100.0, **manner)) == []

    def test_even_stubble_is_flat_and_sound(self):
        svg = ribbed_strip(np.full((50, 200), 4.0), 0.5, close_up=60.0)
        assert problems(svg) == []
        assert (
            len(set(np.asarray(Image.open(io.BytesIO(relief_png(np.full((50, 200), 4.0), 0.5, (40, 20))))).ravel()))
            == 1
        )

    def test_relief_is_lit_from_the_left_and_shows_the_clip(self):
        """A ramp rising along travel faces left and is light, its fall is dark; the pattern repeats with the clip."""
        image = Image.open(io.BytesIO(relief_png(stubble(), 0.5, (400, 100)))).convert("L")
        tone = np.asarray(image, dtype=float)[50]
        rising = np.diff(stubble()[50]) > 0
        assert tone[1:-1][rising[1:] & rising[:-1]].mean() > tone[1:-1][~rising[1:]].mean() + 50
        waves = np.abs(np.fft.rfft(tone - tone.mean()))
        assert abs(int(waves[20:60].argmax()) + 20 - 400 / 9) < 2

    def test_picture_holds_both_reliefs_and_the_profile(self):
        svg = ribbed_strip(stubble(), 0.5, close_up=100.0)
        images = [e.get("href") for e in parsed(svg).iter(SVG + "image")]
        assert [href.split(",")[0] for href in images] == ["data:image/png;base64"] * 2
        sizes = [Image.open(io.BytesIO(base64.b64decode(href.split(",")[1]))).size for href in images]
        assert sizes[0][0] == 2 * 370
        profile = [e for e in parsed(svg).iter(SVG + "path") if e.get("stroke") == "#b4560a"]
        assert len(re.findall(r"[ML]", profile[0].get("d"))) == 200
        assert "model without a field trial" in " ".join(texts(parsed(svg)))

    def test_a_full_strip_stays_small(self):
        svg = ribbed_strip(stubble(1000, 4000), 0.5)
        assert len(svg) < 200_000

    def test_same_bytes_in_another_process(self):
        code = (
            "from tests.drawing.test_clip_and_ribs import stubble; from sparkout.drawing.strip import ribbed_strip;"
            "import hashlib; print(hashlib.sha256(ribbed_strip(stubble(), 0.5, close_up=99.0).encode()).hexdigest())"
        )
        seen = {
            subprocess.run(
                [sys.executable, "-c", code], env={"PYTHONHASHSEED": seed, "PYTHONPATH": "src:."}, capture_output=True,
                text=True, check=True,
            ).stdout
            for seed in ("1", "2")
        }  # fmt: skip
        assert len(seen) == 1

    def test_it_goes_on_paper(self, tmp_path):
        (tmp_path / "strip.svg").write_text(ribbed_strip(stubble(), 0.5, close_up=100.0), encoding="utf-8")
        (tmp_path / "page.typ").write_text('#image("strip.svg")\n', encoding="utf-8")
        fonts = typst.Fonts(
            include_system_fonts=False, font_paths=[str(Path(font_source_sans_pro.__file__).parent / "files")]
        )
        _, warnings = typst.compile_with_warnings(
            tmp_path / "page.typ", output=tmp_path / "page.pdf", root=tmp_path, font_paths=fonts
        )
        assert warnings == []
        assert (tmp_path / "page.pdf").stat().st_size > 10_000, "the relief is in it"

    @pytest.mark.parametrize(
        ("call", "named"),
        [
            (lambda: ribbed_strip(np.zeros((3, 100)), 0.5), "stubble"),
            (lambda: ribbed_strip(np.zeros((10, 10)), 0.5), "stubble"),
            (lambda: ribbed_strip(np.full((10, 100), np.nan), 0.5), "stubble"),
            (lambda: ribbed_strip(stubble(), 0.0), "step"),
            (lambda: ribbed_strip(stubble(), 0.5, close_up=1.0), "close_up"),
            (lambda: ribbed_strip(stubble(), 0.5, close_up=201.0), "close_up"),
            (lambda: relief_png(stubble(), 0.5, (0, 10)), r"size\[0\]"),
            (lambda: relief_png(stubble(), 0.5, (10, 5000)), r"size\[1\]"),
        ],
    )
    def test_refusals(self, call, named):
        with pytest.raises(OutOfRange, match=rf"^{named}"):
            call()


wild = st.sampled_from([0.0, -1.0, math.nan, math.inf, 1e300, 5e-324])
size = st.floats(1e-3, 1e5) | wild


def sound_or_refused(draw, *given_, **named) -> None:
    try:
        svg = draw(*given_, **named)
    except Refusal:
        return
    assert problems(svg) == []


@few
@given(
    st.tuples(size, size),
    st.tuples(size, size),
    st.integers(1, 40),
    st.lists(size, max_size=8),
    st.tuples(size, size),
    size,
)
def test_any_numbers_in_a_clip_chart(reel, travel, blades, clips, now, land):
    sound_or_refused(clip_chart, sorted(reel), sorted(travel), blades, clips, now=now, land_clip=land)
    sound_or_refused(clip_chart, sorted(reel), sorted(travel), blades, clips, band=(*sorted(now), "house"))


@few
@given(st.lists(st.tuples(size, size, size, st.floats(0, 1)), min_size=1, max_size=6), st.tuples(size, size, size))
def test_any_numbers_in_causes_of_ribs(rows, measured):
    low, middle, high = sorted(measured)
    given_ = [("cause", *(sorted(row[:3])[i] for i in (1, 0, 2)), row[3]) for row in rows]
    sound_or_refused(rib_causes, (middle, low, high), given_)


@few
@given(st.integers(0, 2**31), st.floats(1e-3, 50.0), st.floats(0.01, 5.0), st.integers(4, 40), st.integers(16, 90))
def test_any_stubble_in_a_strip(seed, depth, step, rows, columns):
    heights = 4.0 + depth * np.random.default_rng(seed).random((rows, columns))
    sound_or_refused(ribbed_strip, heights, step, close_up=16 * step)
