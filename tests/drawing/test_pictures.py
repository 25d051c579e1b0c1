"""Every picture in both vocabularies and unit systems, looked at by tests/drawing/looking.py; then hostile input."""

import math
import re
import subprocess
import sys
from typing import ClassVar

import pytest
from tests.drawing import gallery
from tests.drawing.looking import SVG, parsed, problems, regular, texts

from sparkout.core.errors import OutOfRange
from sparkout.drawing.cone import cone_drawn_out
from sparkout.drawing.explanations import explanation_bars
from sparkout.drawing.knife import knife_section
from sparkout.drawing.land import land_close_up
from sparkout.drawing.on_reel import knife_on_reel
from sparkout.drawing.paper import paper_grid
from sparkout.drawing.passes import pass_chart
from sparkout.drawing.prediction import predicted_against_measured
from sparkout.drawing.trade import trade_line
from sparkout.drawing.unrolled import unrolled_reel
from sparkout.drawing.words import WORDS

LONG_WORDS = {
    key: f"Grundüberholungsschneidwerkzeuglängenmessung & <{word}> immer weiter" for key, word in WORDS.items()
}
LONG_WORDS |= {
    "reel": "Spindelmähwerkzeugträgertrommel",
    "knife": "Untermesserhaltevorrichtung",
    "behind_centre": "W" * 60,
}
HOSTILE = {
    "plain": {},
    "long-words": {"words": LONG_WORDS},
    "long-figures": {"length": lambda v: f"−{abs(v):017.9f} millimetres", "share": lambda v: f"{v:012.8f} of all"},
    "wide": {"width": 780.0},
    "narrow": {"width": 320.0},
    "untitled": {"titled": False},
    "inches": {"unit": 25.4, "length": gallery.inches},
}
EVERY = [pytest.param(draw, manner, id=f"{name}-{kind}")
         for name, draw in gallery.PICTURES.items() for kind, manner in HOSTILE.items()]  # fmt: skip


@pytest.mark.parametrize(("draw", "manner"), EVERY)
def test_nothing_wrong(draw, manner):
    assert problems(draw(manner)) == []


@pytest.mark.parametrize("draw", gallery.PICTURES.values(), ids=gallery.PICTURES.keys())
def test_same_input_same_bytes(draw):
    assert draw(gallery.MANNERS["uk-mm"]) == draw(gallery.MANNERS["uk-mm"])


def test_same_bytes_in_another_process_with_other_hashing():
    code = (
        "from tests.drawing import gallery; import hashlib; "
        "print(hashlib.sha256(''.join(s for _, s in gallery.gallery()).encode()).hexdigest())"
    )
    seen = set()
    for seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-c", code], env={"PYTHONHASHSEED": seed, "PYTHONPATH": "src:."}, capture_output=True,
            text=True, check=True,
        )  # fmt: skip
        seen.add(done.stdout)
    assert len(seen) == 1


def test_drawing_does_not_import_numpy():
    code = "import sys; from tests.drawing import gallery; list(gallery.gallery()); sys.exit('numpy' in sys.modules)"
    subprocess.run([sys.executable, "-c", code], env={"PYTHONPATH": "src:."}, check=True)


@pytest.mark.parametrize("draw", gallery.PICTURES.values(), ids=gallery.PICTURES.keys())
def test_ids_carry_the_prefix_so_that_pictures_can_share_a_page(draw):
    ids = [element.get("id") for element in parsed(draw({"prefix": "mine"})).iter() if element.get("id")]
    assert ids
    assert all(name.startswith("mine-") for name in ids)
    assert "unit" not in "".join(ids)


@pytest.mark.parametrize(("name", "svg"), list(gallery.gallery()), ids=[name for name, _ in gallery.gallery()])
def test_vocabulary_and_glyphs(name, svg):
    said = " ".join(texts(parsed(svg)))
    assert all(regular().has(character) for character in said)
    if "uk" in name:
        assert not re.search(r"\breel\b|bedknife|\bthou\b", said, re.IGNORECASE)
    else:
        assert not re.search(r"\bcylinder\b|bottom blade|\bmm\b", said, re.IGNORECASE)


def test_wide_pictures_keep_the_least_type_size():
    svg = gallery.unrolled({"width": 780.0})
    assert min(float(t.get("font-size")) for t in parsed(svg).iter(SVG + "text")) >= 12.0


def figures(svg: str) -> list[str]:
    return [t.text for t in parsed(svg).iter(SVG + "text") if t.get("class") == "figure"]


def marks_with_tooltip(svg: str) -> list[str]:
    return [e.findtext(SVG + "title") for e in parsed(svg).iter() if e.find(SVG + "title") is not None][1:]


class TestUnrolled:
    def test_every_value_is_printed_where_there_is_room(self):
        table = [[0.111, -0.222, 0.333], [0.444, 0.555, -0.666]]
        svg = unrolled_reel(table, [0, 250, 500], 500)
        assert figures(svg) == ["0.111", "−0.222", "0.333", "0.444", "0.555", "−0.666"]

    def test_every_cell_is_drawn_and_said_where_there_is_none(self):
        table = [[b + s / 100 for s in range(41)] for b in range(15)]
        svg = unrolled_reel(table, [10.0 * s for s in range(41)], 400)
        assert figures(svg) == []
        assert sum(e.get("class") == "cell" for e in parsed(svg).iter(SVG + "rect")) == 41 * 15
        said = parsed(svg).findtext(SVG + "desc")
        assert all(f"{value:.6g} mm" in said for row in table for value in row)

    def test_low_cells_are_hatched_and_only_they(self):
        svg = unrolled_reel([[-1.0, 0.0, 1.0, -2.0]], [0, 1, 2, 3], 3, prefix="p")
        cells = [e for e in parsed(svg).iter(SVG + "rect") if e.get("class") == "cell"]
        hatched = [e for e in parsed(svg).iter(SVG + "rect") if (e.get("fill") or "").startswith("url(#p-low")]
        assert [e.get("x") for e in hatched[:2]] == [cells[0].get("x"), cells[3].get("x")]
        assert len(hatched) == 2 + 2  # the scale bar and the key

    def test_tone_follows_the_value_on_a_symmetric_scale(self):
        svg = unrolled_reel([[-1.0, 0.0, 1.0]], [0, 1, 2], 2)
        tones = [e.get("fill") for e in parsed(svg).iter(SVG + "rect") if e.get("class") == "cell"]
        assert tones == ["#5da3e9", "#f7f7f7", "#e2832d"]

    def test_unsure_cells_are_small_and_bracketed(self):
        svg = unrolled_reel([[0.10, 0.10]], [0, 500], 500, sd=[[0.06, 0.04]])
        assert figures(svg) == ["(0.1)", "0.1"]
        cells = [float(e.get("width")) for e in parsed(svg).iter(SVG + "rect") if e.get("class") == "cell"]
        assert cells[0] < cells[1]

    def test_readings_are_marked_and_named(self):
        svg = unrolled_reel(
            [[0.1, 0], [0, 0]], [0, 500], 500, readings=[(0, 0, "dial 0.07"), (500, None, "tape 124.3")]
        )
        assert set(marks_with_tooltip(svg)) == {"dial 0.07", "tape 124.3"}

    def test_next_and_lowest_are_named_with_blade_place_and_value(self):
        svg = unrolled_reel([[0.1, 0], [0, -0.3]], [0, 500], 500, next_reading=(0.0, 1), lowest=(500.0, 1))
        said = texts(parsed(svg))
        assert "next reading: blade 2, 0 mm from the left" in said
        assert "lowest: blade 2, 500 mm from the left, −0.3 mm" in said
        both = unrolled_reel([[0.1, 0], [0, -0.3]], [0, 500], 500, next_reading=(500.0, 1), lowest=(500.0, 1))
        assert problems(both) == []
        over_all = unrolled_reel([[0.1, 0], [0, -0.3]], [0, 500], 500, next_reading=(0, None), lowest=(500, None))
        assert "lowest: 500 mm from the left, −0.3 mm" in texts(parsed(over_all))

    def test_marked_blade(self):
        assert "blade 3 is the marked blade" in texts(parsed(unrolled_reel([[0.0]] * 4, [5], 10, marked_blade=2)))

    @pytest.mark.parametrize("blades", [1, 3, 15, 40])
    @pytest.mark.parametrize("stations", [1, 3, 9, 41, 200])
    @pytest.mark.parametrize("size", [0.0, 1e-9, 1e-3, 1.0, 1e6])
    def test_any_shape_and_size(self, blades, stations, size):
        table = [[size * math.sin(1 + b + 3 * s) for s in range(stations)] for b in range(blades)]
        places = [500.0 * (s + 1) / stations for s in range(stations)]
        svg = unrolled_reel(
            table, places, 500, sd=[[size / 2] * stations] * blades, readings=[(places[-1], blades - 1, "a")],
            next_reading=(places[0], None), lowest=(places[0], 0),
        )  # fmt: skip
        assert problems(svg) == []

    @pytest.mark.parametrize(
        ("change", "match"),
        [
            ({"heights": [[math.nan, 0]]}, r"heights\[0\]\[0\]"),
            ({"heights": [[math.inf, 0]]}, r"heights\[0\]\[0\]"),
            ({"heights": [["x", 0]]}, "a number"),
            ({"heights": [[1]]}, r"heights\[0\]"),
            ({"heights": []}, "number of rows in heights"),
            ({"heights": [[0, 0]] * 41}, "number of blades"),
            ({"stations": [500, 0]}, r"stations\[1\]"),
            ({"stations": [0, 501]}, "stations"),
            ({"stations": []}, "number of stations"),
            ({"stations": range(201)}, "number of stations"),
            ({"reel_length": 0}, "reel_length"),
            ({"sd": [[-1, 0]]}, r"sd\[0\]"),
            ({"sd": [[0, 0], [0, 0]]}, "rows in sd"),
            ({"readings": [(501, 0, "a")]}, r"readings\[0\] x"),
            ({"readings": [(5, 1, "a")]}, r"readings\[0\] blade"),
            ({"next_reading": (5, -1)}, "next_reading blade"),
            ({"lowest": (math.nan, 0)}, "lowest x"),
            ({"marked_blade": 1}, "marked_blade"),
        ],
    )
    def test_refusals(self, change, match):
        given = {"heights": [[0, 1]], "stations": [0, 500], "reel_length": 500} | change
        with pytest.raises(OutOfRange, match=match):
            unrolled_reel(**given)

    def test_arrays_are_accepted(self):
        numpy = pytest.importorskip("numpy")
        assert figures(unrolled_reel(numpy.array([[0.25, -0.25]]), numpy.array([0.0, 9.0]), 9.0)) == ["0.25", "−0.25"]


class TestCone:
    GIVEN: ClassVar = {
        "stations": [0, 500], "radius_mean": [62.3, 62.2], "radius_lower": [62.2, 62.1], "radius_upper": [62.4, 62.3],
    }  # fmt: skip

    def test_large_end_and_cone_are_named(self):
        assert "large end: left end, by 0.2 mm on diameter" in texts(parsed(cone_drawn_out(**self.GIVEN)))
        turned = self.GIVEN | {"radius_mean": [62.2, 62.3]}
        assert "large end: right end, by 0.2 mm on diameter" in texts(parsed(cone_drawn_out(**turned)))
        level = self.GIVEN | {"radius_mean": [62.25, 62.25]}
        assert not any("large end" in t for t in texts(parsed(cone_drawn_out(**level))))

    def test_exaggeration_is_the_ratio_of_the_two_scales(self):
        """Recomputed from where the marks stand in the picture."""
        root = parsed(cone_drawn_out(**self.GIVEN))
        labels = {t.text: (float(t.get("x")), float(t.get("y"))) for t in root.iter(SVG + "text")}
        along = (labels["500 mm"][0] - labels["0 mm"][0]) / 500
        up = (labels["62.2 mm"][1] - labels["62.4 mm"][1]) / 0.2
        said = next(t for t in labels if t.startswith("Heights drawn about"))
        assert float(said.split()[3]) == pytest.approx(up / along, rel=0.06)

    @pytest.mark.parametrize("limit", [1.0, 61.0, 62.05, 62.2, 62.35, 63.0, 500.0])
    def test_service_limit_anywhere(self, limit):
        svg = cone_drawn_out(**self.GIVEN, service_radius=limit, finish_radius=62.0, readings=[(0, 62.3, 0.1, "tape")])
        assert problems(svg) == []
        assert any("service limit" in t and f"{limit:g} mm" in t for t in texts(parsed(svg)))
        assert "finish radius 62 mm" in texts(parsed(svg))
        assert marks_with_tooltip(svg) == ["tape"]

    @pytest.mark.parametrize("scale", [1e-6, 1.0, 1e5])
    @pytest.mark.parametrize("count", [2, 3, 41])
    def test_any_size(self, scale, count):
        mean = [scale * (62 + 0.1 * math.sin(i)) for i in range(count)]
        svg = cone_drawn_out(range(count), mean, [r * 0.999 for r in mean], [r * 1.001 for r in mean])
        assert problems(svg) == []

    @pytest.mark.parametrize(
        ("change", "match"),
        [
            ({"radius_mean": [62.3, math.nan]}, r"radius_mean\[1\]"),
            ({"radius_lower": [62.3]}, "radius_lower"),
            ({"stations": [0]}, "number of stations"),
            ({"finish_radius": 0}, "finish_radius"),
            ({"service_radius": math.inf}, "service_radius"),
            ({"readings": [(600, 62, 0.1, "")]}, r"readings\[0\] x"),
            ({"readings": [(0, math.nan, 0.1, "")]}, r"readings\[0\] radius"),
            ({"readings": [(0, 62, -0.1, "")]}, r"readings\[0\] half"),
        ],
    )
    def test_refusals(self, change, match):
        with pytest.raises(OutOfRange, match=match):
            cone_drawn_out(**(self.GIVEN | change))


class TestLand:
    def test_every_number_is_written(self):
        said = texts(parsed(land_close_up(63.5, 1.0, 1.296, math.radians(45), 0.3, 5.0, False)))
        wanted = ["land before 1 mm", "land after 1.296 mm", "relief 45°, from the tangent", "blade 5 mm thick"]
        assert set(wanted) <= set(said)
        assert any("off the radius 0.3 mm" in t for t in said)
        assert "Relief not ground." in said

    def test_to_scale_one_scale_both_ways(self):
        """The drawn land and the drawn depth removed stand as 1.2 to 0.3."""
        root = parsed(land_close_up(63.5, 1.2, 1.5, math.radians(45), 0.3, 5.0, False))
        outlines = [
            [tuple(map(float, p.split())) for p in e.get("d")[1:].rstrip("Z").split("L")]
            for e in root.iter(SVG + "path")
            if e.get("clip-path")
        ]
        old, new = outlines[0], outlines[1]
        assert (old[12][0] - old[0][0]) / (new[0][1] - old[0][1]) == pytest.approx(1.2 / 0.3, rel=0.01)
        # the facet of an unrelieved blade stays where it was: old and new lands end on one line at 45 degrees
        fall = (new[12][1] - old[12][1]) / (new[12][0] - old[12][0])
        assert fall == pytest.approx(1.0, rel=0.03)

    @pytest.mark.parametrize("relieved", [True, False])
    @pytest.mark.parametrize("angle", [5, 20, 45, 85])
    @pytest.mark.parametrize(("before", "after"), [(0.0, 0.0), (1.0, 1.0), (0.5, 6.0), (5.0, 0.2), (1.0, 1.3)])
    @pytest.mark.parametrize("removed", [0.0, 1e-6, 0.3, 4.0])
    def test_any_tip(self, before, after, angle, removed, relieved):
        svg = land_close_up(63.5, before, after, math.radians(angle), removed, 5.0, relieved)
        assert problems(svg) == []
        if after >= 5.0:
            assert "No relief left: the land is as wide as the blade." in texts(parsed(svg))

    @pytest.mark.parametrize(
        ("at", "value"),
        [(0, 0), (1, -1), (2, math.nan), (3, 0), (3, 1.6), (4, -0.1), (4, 9.0), (5, 0), (5, math.inf)],
    )
    def test_refusals(self, at, value):
        given = [63.5, 1.0, 1.3, 0.78, 0.3, 5.0, False]
        given[at] = value
        with pytest.raises(OutOfRange):
            land_close_up(*given)


class TestKnife:
    BLOCK: ClassVar = [(0, 0), (30, -6), (30, -8), (0.5, -6)]

    def test_every_number_is_written(self):
        svg = knife_section(
            self.BLOCK, self.BLOCK, math.radians(12), math.radians(5),
            edge_radius=0.12, stock_top=0.16, stock_front=0.05,
        )  # fmt: skip
        said = " ".join(texts(parsed(svg)))
        for wanted in ("top 12°", "front 5°", "edge 73°", "rounded to 0.12 mm", "top face 0.16 mm", "face 0.05 mm"):
            assert wanted in said

    @pytest.mark.parametrize("top", [-10, 0, 12, 40])
    @pytest.mark.parametrize("front", [-10, 0, 5, 25])
    @pytest.mark.parametrize("stock", [(0, 0, 0), (0.1, 0.2, 0), (0, 0, 3), (1e-6, 1e-6, 1e-6), (50, 0, 0)])
    def test_any_knife(self, top, front, stock):
        svg = knife_section(
            self.BLOCK, self.BLOCK, math.radians(top), math.radians(front),
            edge_radius=stock[0], stock_top=stock[1], stock_front=stock[2],
        )  # fmt: skip
        assert problems(svg) == []

    def test_close_up_sets_each_face_back_by_its_stock(self):
        """Distances between the drawn outlines, measured square to each face, stand as 0.3 to 0.1."""
        top, front = math.radians(15), math.radians(4)
        svg = knife_section(self.BLOCK, self.BLOCK, top, front, stock_top=0.3, stock_front=0.1)
        clipped = [e for e in parsed(svg).iter(SVG + "path") if e.get("clip-path")]
        old, new = (
            [tuple(map(float, p.split())) for p in e.get("d")[1:].rstrip("Z").split("L")][1] for e in clipped[:2]
        )
        x, y = new[0] - old[0], -(new[1] - old[1])
        from_top = -(x * math.sin(top) + y * math.cos(top))
        from_front = x * math.cos(front) + y * math.sin(front)
        assert from_top / from_front == pytest.approx(3.0, rel=0.01)

    @pytest.mark.parametrize(
        ("change", "match"),
        [
            ({"before": [(0, 0), (1, 1)]}, "number of corners in before"),
            ({"after": [(0, 0, 0)] * 3}, r"after\[0\]"),
            ({"before": [(0, math.nan)] * 3}, r"before\[0\]"),
            ({"top_angle": 2}, "top_angle"),
            ({"front_angle": math.nan}, "front_angle"),
            ({"edge_radius": -1}, "edge_radius"),
            ({"stock_top": math.inf}, "stock_top"),
            ({"stock_front": -0.1}, "stock_front"),
            ({"before": [(1, 1)] * 3, "after": [(1, 1)] * 3}, "width of the section"),
            ({"before": [(0, 1), (1, 1), (2, 1)], "after": [(1, 1)] * 3}, "height of the section"),
        ],
    )
    def test_refusals(self, change, match):
        given = {"before": self.BLOCK, "after": self.BLOCK, "top_angle": 0.2, "front_angle": 0.1} | change
        with pytest.raises(OutOfRange, match=match):
            knife_section(**given)


class TestOnReel:
    def test_every_number_is_written(self):
        svg = knife_on_reel(63.5, (60, 30), (8, 63), 8.0, 0.03, math.radians(7.25), ground_below=67)
        said = texts(parsed(svg))
        assert {"behind centre 8 mm", "gap 0.03 mm, too small to draw", "approach 7.25°", "ground line"} <= set(said)
        assert "gap 5 mm" in texts(parsed(knife_on_reel(63.5, (60, 30), (8, 68), 8.0, 5.0, 0.1)))

    def test_dimension_is_to_scale(self):
        """Behind centre against the reel's drawn radius: 25.4 to 63.5."""
        svg = knife_on_reel(63.5, (60, 30), (25.4, 58.2), 25.4, 0.03, math.atan2(25.4, 58.2))
        paths = [e.get("d") for e in parsed(svg).iter(SVG + "path") if e.get("clip-path")]
        circle = [tuple(map(float, p.split())) for p in paths[-1][1:].split("L")]
        radius = (max(x for x, _ in circle) - min(x for x, _ in circle)) / 2
        ends = [
            (float(e.get("x1")), float(e.get("x2")), e.get("y1") == e.get("y2")) for e in parsed(svg).iter(SVG + "line")
        ]
        dimension = [abs(a - b) for a, b, level in ends if level and abs(abs(a - b) - radius * 0.4) < 0.5]
        assert dimension

    @pytest.mark.parametrize("pivot", [(60, 30), (-200, -200), (250, 250), (0, 0), (8, 63)])
    @pytest.mark.parametrize("edge", [(8, 63), (0, 63.5), (-8, 63), (60, 20), (0.001, 63.5)])
    @pytest.mark.parametrize("ground", [None, 66.0, 10.0, 250.0])
    def test_any_setting(self, pivot, edge, ground):
        svg = knife_on_reel(
            63.5, pivot, edge, edge[0], -0.01, math.atan2(*edge), ground_below=ground, top_angle=0.3, blade_count=15
        )
        assert problems(svg) == []

    @pytest.mark.parametrize("radius", [1.0, 1e4])
    def test_any_size(self, radius):
        svg = knife_on_reel(radius, (radius, 0), (0.1 * radius, 0.99 * radius), 0.1 * radius, 0, 0.1)
        assert problems(svg) == []

    @pytest.mark.parametrize(
        ("change", "match"),
        [
            ({"reel_radius": 0}, "reel_radius"),
            ({"pivot": (math.nan, 0)}, "pivot behind"),
            ({"pivot": (0, 1e5)}, "pivot below"),
            ({"edge": (0, 200)}, "edge below"),
            ({"gap": math.inf}, "gap"),
            ({"behind_centre": math.nan}, "behind_centre"),
            ({"approach_angle": 4}, "approach_angle"),
            ({"ground_below": math.nan}, "ground_below"),
            ({"top_angle": 2}, "top_angle"),
            ({"blade_count": 41}, "blade_count"),
        ],
    )
    def test_refusals(self, change, match):
        given = {
            "reel_radius": 63.5, "pivot": (60, 30), "edge": (8, 63),
            "behind_centre": 8, "gap": 0, "approach_angle": 0.1,
        }  # fmt: skip
        with pytest.raises(OutOfRange, match=match):
            knife_on_reel(**(given | change))


class TestPasses:
    def test_every_number_is_written(self):
        said = texts(
            parsed(pass_chart([("7", 0.015, 0.42, 0.0105, 0.123, "rough"), ("8", 0.005, 1, 0.0035, 0.2, "finish")]))
        )
        assert {"7", "0.015", "42 %", "0.0105", "0.123", "rough", "8", "finish", "mm"} <= set(said)

    def test_bars_are_as_long_as_the_share_and_told_apart_by_fill(self):
        rows = [
            ("1", 0.01, 0.5, 0.01, 0.01, "rough"),
            ("2", 0.01, 0.25, 0.01, 0.01, "finish"),
            ("3", 0, 1, 0, 0, "spark-out"),
        ]
        bars = list(parsed(pass_chart(rows, prefix="p")).iter(SVG + "rect"))
        whole = float(bars[0].get("width"))
        assert [round(float(bar.get("width")) / whole, 2) for bar in bars[1::2]] == [0.5, 0.25, 1.0]
        assert [bar.get("fill") for bar in bars[1::2]] == ["#1f5f9e", "url(#p-finish)", "none"]

    @pytest.mark.parametrize("count", [1, 30, 100])
    @pytest.mark.parametrize("size", [0.0, 1e-9, 1.0, 1e6])
    @pytest.mark.parametrize("label", ["", "1", "a pass with a very long label indeed"])
    def test_any_chart(self, count, size, label):
        rows = [
            (label, size, (i + 1) / count, size / 3, size * i, ("rough", "finish", "spark-out")[i % 3])
            for i in range(count)
        ]
        assert problems(pass_chart(rows)) == []

    @pytest.mark.parametrize(
        ("row", "match"),
        [
            (("1", math.nan, 0.5, 0, 0, "rough"), "infeed"),
            (("1", 0, 1.5, 0, 0, "rough"), "contact_share"),
            (("1", 0, 0.5, math.inf, 0, "rough"), "largest_bite"),
            (("1", 0, 0.5, 0, "x", "rough"), "running_stock"),
            (("1", 0, 0.5, 0, 0, "polish"), "kind"),
        ],
    )
    def test_refusals(self, row, match):
        with pytest.raises(OutOfRange, match=match):
            pass_chart([row])

    def test_none_or_too_many_are_refused(self):
        for rows in ([], [("1", 0, 0, 0, 0, "rough")] * 401):
            with pytest.raises(OutOfRange, match="number of passes"):
                pass_chart(rows)


class TestPaper:
    def test_word_in_every_cell_and_counts(self):
        said = texts(parsed(paper_grid([["clean", "pinched"], ["uncut", ""]], [5, 500])))
        assert {"clean", "pinched", "uncut", "not tried", "clean: 1", "not tried: 1", "5 mm", "500 mm"} <= set(said)

    def test_shape_alone_where_there_is_no_room(self):
        rows = [[("clean", "pinched", "uncut", "")[(b + s) % 4] for s in range(41)] for b in range(15)]
        svg = paper_grid(rows, [10.0 * s for s in range(41)])
        assert problems(svg) == []
        kinds = [e.get("class") for e in parsed(svg).iter(SVG + "rect") if (e.get("class") or "").startswith("paper-")]
        assert len(kinds) == 41 * 15
        assert kinds[:4] == ["paper-clean", "paper-pinched", "paper-uncut", "paper-not_tried"]

    def test_only_what_was_not_expected_gets_a_dark_corner(self):
        rows, wanted = [["clean", "uncut", "", "clean"]], [["clean", "clean", "clean", ""]]
        svg = paper_grid(rows, ["a", "b", "c", "d"], expected=wanted)
        corners = [
            e for e in parsed(svg).iter(SVG + "path") if e.get("stroke") == "#ffffff" and e.get("fill") != "none"
        ]
        assert len(corners) == 1 + 1  # and the key
        assert "dark corner: not what was expected" in texts(parsed(svg))

    @pytest.mark.parametrize("blades", [1, 3, 40])
    @pytest.mark.parametrize("stations", [1, 3, 100])
    def test_any_grid(self, blades, stations):
        names = [f"a station with a long name {s}" for s in range(stations)]
        assert problems(paper_grid([["pinched"] * stations] * blades, names)) == []

    @pytest.mark.parametrize(
        ("change", "match"),
        [
            ({"outcomes": [["torn"]]}, r"outcomes\[0, 0\]"),
            ({"outcomes": [["clean", "clean"]]}, r"outcomes\[0\]"),
            ({"outcomes": []}, "rows in outcomes"),
            ({"stations": []}, "number of stations"),
            ({"stations": [math.nan]}, r"stations\[0\]"),
            ({"expected": [["clean"]] * 2}, "rows in expected"),
            ({"expected": [["maybe"]]}, "expected"),
        ],
    )
    def test_refusals(self, change, match):
        with pytest.raises(OutOfRange, match=match):
            paper_grid(**({"outcomes": [["clean"]], "stations": ["left"]} | change))


class TestExplanations:
    def test_weights_as_figures_and_bars(self):
        svg = explanation_bars([("cone", 0.75), ("frame out", 0.25)])
        assert {"cone", "75 %", "frame out", "25 %"} <= set(texts(parsed(svg)))
        bars = [float(e.get("width")) for e in parsed(svg).iter(SVG + "rect")]
        assert bars[1] / bars[0] == pytest.approx(0.75, abs=1e-3)
        assert bars[3] / bars[2] == pytest.approx(0.25, abs=1e-3)

    @pytest.mark.parametrize("rows", [[("a", math.nan)], [("a", 1.1)], [("a", -0.1)], [], [("a", 0)] * 61])
    def test_refusals(self, rows):
        with pytest.raises(OutOfRange):
            explanation_bars(rows)

    def test_long_names(self):
        assert problems(explanation_bars([("ein sehr langer Name " * 9, 0.5), ("W" * 200, 0.5)])) == []


class TestTrade:
    def test_chosen_point_is_written_and_stands_on_its_axes(self):
        svg = trade_line([0, 0.05, 0.1], [2.0, 2.2, 2.4], chosen=(0.05, 2.2))
        assert "chosen: 5 % uncleaned, 2.2 mm kept" in texts(parsed(svg))
        labels = {t.text: (float(t.get("x")), float(t.get("y"))) for t in parsed(svg).iter(SVG + "text")}
        mark = next(e for e in parsed(svg).iter(SVG + "circle"))
        assert float(mark.get("cx")) == pytest.approx((labels["0 %"][0] + labels["10 %"][0]) / 2, abs=6)
        assert float(mark.get("cy")) == pytest.approx(labels["2.2 mm"][1] - 4, abs=0.1)

    def test_life_in_grinds(self):
        said = texts(parsed(trade_line([0, 0.1], [3, 9], life=lambda v: f"{v:g} grinds", unit=25.4)))
        assert "4 grinds" in said

    @pytest.mark.parametrize("kept", [[0, 0], [1e-9, 2e-9], [1e6, 2e6], [5, 5 + 1e-6]])
    @pytest.mark.parametrize("shares", [[0, 0], [0, 1], [0.001, 0.002]])
    def test_any_line(self, kept, shares):
        assert problems(trade_line(shares, kept, chosen=(shares[0], kept[0]))) == []
        assert problems(trade_line(shares, kept)) == []

    @pytest.mark.parametrize(
        ("shares", "kept", "chosen"),
        [
            ([0], [1], None),
            ([0, 2], [1, 2], None),
            ([0, 1], [1, math.nan], None),
            ([0, 1], [1, 2, 3], None),
            ([0, 1], [1, 2], (math.nan, 1)),
            ([0, 1], [1, 2], (0, math.inf)),
        ],
    )
    def test_refusals(self, shares, kept, chosen):
        with pytest.raises(OutOfRange):
            trade_line(shares, kept, chosen=chosen)


class TestPrediction:
    def test_numbers_and_agreement(self):
        rows = [("left", 124.18, 0.03, 124.2, 0.05), ("right", 124.18, 0.03, 124.3, 0.05)]
        said = " ".join(texts(parsed(predicted_against_measured(rows))))
        assert "left: predicted 124.18 mm, measured 124.2 mm; intervals meet" in said
        assert "right: predicted 124.18 mm, measured 124.3 mm; intervals do not meet" in said

    @pytest.mark.parametrize("size", [0.0, 1e-9, 1.0, 1e8])
    def test_any_size(self, size):
        rows = [("a", size, 0.0, -size, size), ("b", 0.0, size, 0.0, 0.0)]
        assert problems(predicted_against_measured(rows)) == []

    @pytest.mark.parametrize(
        "rows", [[], [("a", 0, 0, 0, 0)] * 61, [("a", math.nan, 0, 0, 0)], [("a", 0, -1, 0, 0)], [("a", 0, 0, 0, -1)]]
    )
    def test_refusals(self, rows):
        with pytest.raises(OutOfRange):
            predicted_against_measured(rows)
