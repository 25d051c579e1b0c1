"""A life drawn out: long, short and empty; what is drawn stands where its numbers say; every visit can be reached."""

from __future__ import annotations

import itertools
import math
import random
import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.drawing.gallery import MANNERS
from tests.drawing.looking import SVG, parsed, problems, texts

from sparkout.core.errors import OutOfRange
from sparkout.drawing.life import Along, Happening, Segment, Sight, Stretch, life_drawn_out

HOURS = Along("hours on the clock", 0.0, 1000.0, [(0.0, "0 h"), (500.0, "500 h"), (1000.0, "1000 h")])
TIMES = ["conforms", "undecided", "does not conform", ""]


def sight(at: float, number: int = 0, **more) -> Sight:
    told = {"diameter": ((125.0, 0.1), (124.8, 0.1)), "href": f"/visits/{number}/", "row": f"#v{number}"}
    return Sight(at, f"visit {number}", **{**told, **more})


def long_life(count: int) -> list[Sight]:
    drawn = random.Random(count)
    return [
        sight(
            1000.0 * (i + drawn.random()) / count,
            i,
            diameter=((127.0 - 0.02 * i, 0.08), (126.9 - 0.02 * i, 0.08)),
            land=((drawn.uniform(1.1, 1.6), 0.1), (1.0, 0.1)),
            height=((3.5 + drawn.gauss(0, 0.03), 0.03), (3.5, 0.03)) if i % 3 else (None, None),
            lip=((8.0 - 0.01 * i, 0.05), None),
            verdicts=(drawn.choice(TIMES), drawn.choice(TIMES)),
            ground=i % 2 == 0,
        )
        for i in range(count)
    ]


def links(svg: str) -> list[ET.Element]:
    return parsed(svg).findall(SVG + "a")


def target(link: ET.Element) -> tuple[float, float, float]:
    box = link.find(SVG + "rect")
    assert box is not None
    left, wide = float(box.get("x", "nan")), float(box.get("width", "nan"))
    return left, left + wide, float(box.get("height", "nan"))


@pytest.mark.parametrize("manner", MANNERS)
@pytest.mark.parametrize("width", [340, 390, 740])
@pytest.mark.parametrize("count", [1, 2, 5, 40, 200])
def test_any_length_of_life(manner: str, width: float, count: int) -> None:
    seen = long_life(count)
    half = count // 2
    svg = life_drawn_out(
        [Stretch(seen[:half], 120.0), Stretch(seen[half:], 110.0)] if half else [Stretch(seen, 120.0)],
        HOURS,
        bands=[
            ("cylinder", [Segment(None, 500, "reel 7, first of the pair"), Segment(500, None, "reel 8")]),
            ("bottom blade", [Segment(100 * i, 100 * i + 100, f"knife {i}") for i in range(10)]),
        ],
        happenings=[Happening(7.0 * i, ("sand", "stone", "other")[i % 3], "on the turf") for i in range(90)]
        + [Happening(11.0 * i, ("photograph", "recording")[i % 2], "seen", f"/attachments/{i}/") for i in range(60)],
        **{**MANNERS[manner], "width": width},
    )
    assert problems(svg) == []
    assert len(svg) < 110_000  # a page of 200 kB holds it and its table


def test_a_visit_of_which_nothing_was_read_is_still_a_visit() -> None:
    svg = life_drawn_out([Stretch([Sight(10.0, "visit", href="/visits/1/")])], HOURS)
    assert problems(svg) == []
    assert "visits" in texts(parsed(svg))
    assert not {"mean diameter", "land", "as found"} & set(texts(parsed(svg)))  # what is unknown stays blank
    assert [link.get("href") for link in links(svg)] == ["/visits/1/"]


def test_visits_far_apart_lead_each_to_its_own_page() -> None:
    svg = life_drawn_out([Stretch([sight(100, 1), sight(500, 2), sight(900, 3)])], HOURS)
    assert [link.get("href") for link in links(svg)] == ["/visits/1/", "/visits/2/", "/visits/3/"]
    for link in links(svg):
        left, right, tall = target(link)
        assert right - left == pytest.approx(44.0, abs=0.02)
        assert tall > 44.0


@pytest.mark.parametrize("count", [30, 200])
def test_no_target_is_smaller_than_a_finger_needs(count: int) -> None:
    """WCAG 2.2, 2.5.8: 24 by 24 px. Visits too close together lead to their lines in the table."""
    svg = life_drawn_out([Stretch(long_life(count))], HOURS, width=740)
    boxes = sorted(target(link) for link in links(svg))
    assert all(right - left >= 24.0 - 0.02 for left, right, _ in boxes)
    assert all(a[1] <= b[0] + 0.02 for a, b in itertools.pairwise(boxes))  # none over another
    told = [link.get("aria-label") or "" for link in links(svg)]
    together = [int(found[1]) for label in told if (found := re.match(r"(\d+) visits close together", label))]
    assert sum(together) + (len(told) - len(together)) == count  # every visit is behind one of them


def test_places_follow_the_numbers() -> None:
    """Recomputed from where the axis figures stand in the picture."""
    seen = [sight(250, 1, diameter=((125.0, 0.0), None)), sight(750, 2, diameter=((123.0, 0.0), None))]
    root = parsed(life_drawn_out([Stretch(seen)], HOURS))
    at = {t.text: (float(t.get("x", "nan")), float(t.get("y", "nan"))) for t in root.iter(SVG + "text")}
    rings = next(e for e in root.iter(SVG + "path") if e.get("stroke-linecap") == "round")
    first, second = [(float(x), float(y)) for x, y in re.findall(r"M([\d.]+) ([\d.]+)h0", rings.get("d", ""))]
    across = (at["500 h"][0] - at["0 h"][0]) / 500
    assert second[0] - first[0] == pytest.approx(500 * across, abs=0.6)
    up = (at["124 mm"][1] - at["125 mm"][1]) / 1.0
    assert second[1] - first[1] == pytest.approx(2.0 * up, abs=0.6)


def test_no_line_crosses_a_swap() -> None:
    seen = [sight(100 * i, i, diameter=((125.0 - i, 0.1), None)) for i in range(1, 5)]

    def between(stretches: list[Stretch]) -> int:
        root = parsed(life_drawn_out(stretches, HOURS))
        lines = [e.get("d", "") for e in root.iter(SVG + "path") if e.get("stroke-dasharray") == "5 3"]
        return sum(line.count("M") for line in lines)

    assert between([Stretch(seen)]) == 3
    assert between([Stretch(seen[:2]), Stretch(seen[2:])]) == 2
    unread = [seen[0], seen[1]._replace(diameter=(None, None)), *seen[2:]]
    assert between([Stretch(unread)]) == 1  # nor a visit at which it was not read


def test_limits_are_drawn_where_they_hold_or_named() -> None:
    near = life_drawn_out([Stretch([sight(1, 1)], 124.0)], HOURS)
    assert "service limit 124 mm" in texts(parsed(near))
    far = life_drawn_out([Stretch([sight(1, 1)], 100.0)], HOURS)
    assert any("service limit 100 mm" in t and "below this picture" in t for t in texts(parsed(far)))


def test_what_cannot_be_seen_is_told() -> None:
    said = parsed(life_drawn_out([Stretch([sight(1, 1), sight(2, 2)])], HOURS)).findtext(f"{SVG}g/{SVG}desc")
    assert said == "visit 1. visit 2."
    long = parsed(life_drawn_out([Stretch(long_life(60))], HOURS)).findtext(f"{SVG}g/{SVG}desc")
    assert long == "visit 0. visit 59."


PAIR = st.none() | st.tuples(st.floats(-1e5, 1e5), st.floats(0, 1e4))
SIGHTS = st.builds(
    Sight,
    st.floats(0, 1000),
    st.just("visit"),
    st.tuples(PAIR, PAIR),
    st.tuples(PAIR, PAIR),
    st.tuples(PAIR, PAIR),
    st.tuples(PAIR, PAIR),
    st.tuples(st.sampled_from(TIMES), st.sampled_from(TIMES)),
    st.booleans(),
    st.sampled_from(["", "/visits/1/"]),
    st.sampled_from(["", "#v1"]),
)


@settings(max_examples=120, deadline=None)
@given(st.lists(st.lists(SIGHTS, max_size=12), min_size=1, max_size=4).filter(any), st.none() | st.floats(0.1, 1e4))
def test_any_life_is_drawn(stretches: list[list[Sight]], limit: float | None) -> None:
    assert problems(life_drawn_out([Stretch(sights, limit) for sights in stretches], HOURS)) == []


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"stretches": []}, "number of visits"),
        ({"stretches": [Stretch([])]}, "number of visits"),
        ({"stretches": [Stretch([Sight(1001.0, "late")])]}, "visit at"),
        ({"stretches": [Stretch([Sight(math.nan, "lost")])]}, "visit at"),
        ({"stretches": [Stretch([sight(1, diameter=((math.inf, 0.1), None))])]}, "diameter"),
        ({"stretches": [Stretch([sight(1, land=((1.0, -0.1), None))])]}, "half width of land"),
        ({"stretches": [Stretch([sight(1, verdicts=("fine", ""))])]}, "verdict"),
        ({"stretches": [Stretch([sight(1)], 0.0)]}, "limit"),
        ({"happenings": [Happening(1.0, "rain", "wet")]}, "kind"),
        ({"happenings": [Happening(-1.0, "sand", "early")]}, "happening at"),
        ({"along": Along("hours", 5.0, 5.0, [])}, "along high"),
        ({"along": Along("hours", 0.0, 10.0, [(11.0, "11 h")])}, "mark"),
    ],
)
def test_refusals(change: dict, match: str) -> None:
    asked = {"stretches": [Stretch([sight(1.0)])], "along": HOURS} | change
    with pytest.raises(OutOfRange, match=match):
        life_drawn_out(asked.pop("stretches"), asked.pop("along"), **asked)
