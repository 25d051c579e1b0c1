"""Why a gauge shows what it shows: every scene looked at like the other pictures, and its geometry by another route."""

import itertools
import math
import re

import pytest
from tests.drawing import gallery
from tests.drawing.looking import problems

from sparkout.core.errors import OutOfRange
from sparkout.core.gauges.chord import chord_reading
from sparkout.core.gauges.jaws import jaws_reading
from sparkout.core.gauges.tape import tape_reading
from sparkout.drawing import gauges
from sparkout.drawing.gauges import GaugeTexts

SHORT = GaugeTexts("Tape round the reel", "shows 125.4 mm", "means 127.0 ± 0.2 mm", "It spans the blades straight.")
LONG = GaugeTexts(
    "Grundüberholungsschneidwerkzeuglängenmessung am Untermesser",
    "die Messuhr zeigt −0.123456789 millimetres gegen ihren eigenen Nullpunkt, der frei gewählt ist",
    "bedeutet −0.123456789 ± 0.000000001 millimetres & <mehr> davon",
    "W" * 70 + " " + "und immer so weiter " * 12,
)
BARE = GaugeTexts("Gauge", "", "", "")
SCENES = {
    "tape": lambda t, m: gauges.across_the_reel("tape", 127.0, 11, 1.0, t, **m),
    "tape-few": lambda t, m: gauges.across_the_reel("tape", 127.0, 4, 2.0, t, **m),
    "jaws": lambda t, m: gauges.across_the_reel("jaws", 127.0, 7, 1.0, t, **m),
    "jaws-even": lambda t, m: gauges.across_the_reel("jaws", 127.0, 8, 1.0, t, **m),
    "chord": lambda t, m: gauges.across_the_reel("chord", 127.0, 11, 1.0, t, **m),
    "chord-many": lambda t, m: gauges.across_the_reel("chord", 127.0, 40, 1.0, t, **m),
    "gaps": lambda t, m: gauges.gaps_below_a_line([0, 266.5, 533], [0.15, 0.0, 0.31], 533, t, here=2, **m),
    "one-gap": lambda t, m: gauges.gaps_below_a_line([266.5], [0.05], 533, t, **m),
    "negative-gap": lambda t, m: gauges.gaps_below_a_line([0, 533], [-0.05, 0.02], 533, t, **m),
    "leaves": lambda t, m: gauges.two_leaves(0.05, 0.08, t, **m),
    "first-leaf": lambda t, m: gauges.two_leaves(0.0, 0.03, t, **m),
    "dial": lambda t, m: gauges.dial_over([str(i + 1) for i in range(11)], [0.01 * (i % 4) for i in range(11)], t, **m),
    "dial-many": lambda t, m: gauges.dial_over(["blade"] * 40, [-0.2] * 40, t, here=39, **m),
    "dial-true": lambda t, m: gauges.dial_over(["1", "2"], [0.0, 0.0], t, **m),
    "depth": lambda t, m: gauges.depth_below(4.2, t, **m),
    "angle": lambda t, m: gauges.angle_of(0.1, t, **m),
    "angle-back": lambda t, m: gauges.angle_of(-0.1, t, **m),
    "strip": lambda t, m: gauges.width_of_a_strip(1.2, t, **m),
}
MANNERS = {
    "mm": gallery.MANNERS["uk-mm"],
    "inch": gallery.MANNERS["us-inch"],
    "narrow": {"width": 320.0},
    "wide": {"width": 780.0},
    "untitled": {"titled": False},
    "long-figures": {"length": lambda v: f"−{abs(v):017.9f} millimetres"},
}


@pytest.mark.parametrize("manner", MANNERS)
@pytest.mark.parametrize("texts", [SHORT, LONG, BARE], ids=["short", "long", "bare"])
@pytest.mark.parametrize("scene", SCENES)
def test_nothing_wrong(scene, texts, manner):
    assert problems(SCENES[scene](texts, MANNERS[manner])) == []


def points(svg: str, stroke: str) -> list[tuple[float, float]]:
    path = re.search(rf'<path d="M([^"]+)"[^>]*stroke="{stroke}"', svg)
    numbers = [float(n) for n in re.findall(r"-?[\d.]+", path[1])]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


@pytest.mark.parametrize(("count", "land"), [(4, 3.0), (7, 1.0), (11, 1.0), (15, 2.0)])
def test_the_tape_drawn_is_as_long_as_the_tape_model_says(count, land):
    """Independent route: the drawn line's length in pixels against the gauge's own model."""
    svg = gauges.across_the_reel("tape", 127.0, count, land, BARE)
    drawn = points(svg, gauges.ORANGE)
    long = sum(math.dist(a, b) for a, b in itertools.pairwise(drawn))
    per_mm = (gauges._TALL / 2 - 8) / 63.5
    assert long / per_mm / math.pi == pytest.approx(tape_reading(127.0, count, land), rel=2e-3)


@pytest.mark.parametrize("count", [7, 8, 11])
def test_jaws_and_tips_are_drawn_as_far_apart_as_their_models_say(count):
    per_mm = (gauges._TALL / 2 - 8) / 63.5
    lines = re.findall(r'<line x1="([\d.]+)" y1="([\d.]+)" x2="([\d.]+)" y2="([\d.]+)" stroke="#b4560a"',
                       gauges.across_the_reel("jaws", 127.0, count, 1.0, BARE))  # fmt: skip
    upper, lower = (float(line[1]) for line in lines)
    assert (lower - upper) / per_mm == pytest.approx(jaws_reading(127.0, count, 1.0), abs=0.01)
    (line,) = re.findall(r'<line x1="([\d.]+)" y1="([\d.]+)" x2="([\d.]+)" y2="([\d.]+)" stroke="#b4560a"',
                         gauges.across_the_reel("chord", 127.0, count, 1.0, BARE))  # fmt: skip
    x1, y1, x2, y2 = map(float, line)
    assert math.dist((x1, y1), (x2, y2)) / per_mm == pytest.approx(chord_reading(127.0, count, 1.0), abs=0.01)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: gauges.across_the_reel("feeler", 127.0, 11, 1.0, BARE),
        lambda: gauges.across_the_reel("tape", 127.0, 1, 1.0, BARE),
        lambda: gauges.across_the_reel("tape", 127.0, 11, 40.0, BARE),
        lambda: gauges.gaps_below_a_line([0, 533], [0.1], 533, BARE),
        lambda: gauges.gaps_below_a_line([], [], 533, BARE),
        lambda: gauges.gaps_below_a_line([0], [math.nan], 533, BARE),
        lambda: gauges.gaps_below_a_line([0], [0.1], 533, BARE, here=1),
        lambda: gauges.two_leaves(0.1, 0.05, BARE),
        lambda: gauges.two_leaves(0.0, 0.0, BARE),
        lambda: gauges.dial_over([], [], BARE),
        lambda: gauges.dial_over(["1"] * 41, [0.0] * 41, BARE),
        lambda: gauges.depth_below(-1.0, BARE),
        lambda: gauges.angle_of(2.0, BARE),
        lambda: gauges.width_of_a_strip(math.inf, BARE),
    ],
)
def test_what_cannot_be_is_refused(wrong):
    with pytest.raises(OutOfRange):
        wrong()
