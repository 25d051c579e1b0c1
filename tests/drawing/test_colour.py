"""The diverging scale measured: lightness (CIE 1976 L*), contrast (WCAG 2 definition), and simulated colour blindness.

The simulation matrices (Machado, Oliveira and Fernandes 2009, severity 1.0) were read in two public code
repositories that quote them, not in the paper; sRGB, CIE L*a*b* and WCAG formulas from memory.
"""

import itertools
import math

import pytest

from sparkout.core.errors import OutOfRange
from sparkout.drawing.colour import BLUE, INK, LOW_LINE, ORANGE, SOFT_INK, WHITE, diverging

PROTAN = ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998))
DEUTAN = ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881))
NONE = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
EYES = pytest.mark.parametrize("eye", [NONE, PROTAN, DEUTAN], ids=["full", "protanopia", "deuteranopia"])
SHARES = [i / 16 for i in range(17)]


def linear(colour: str) -> tuple[float, float, float]:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return r, g, b


def seen(colour, eye):
    rgb = linear(colour)
    return tuple(min(1.0, max(0.0, sum(m * c for m, c in zip(row, rgb, strict=True)))) for row in eye)


def lab(rgb):
    matrix = ((0.4124564, 0.3575761, 0.1804375), (0.2126729, 0.7151522, 0.0721750), (0.0193339, 0.1191920, 0.9503041))
    white = (0.95047, 1.0, 1.08883)
    f = []
    for row, w in zip(matrix, white, strict=True):
        t = sum(m * c for m, c in zip(row, rgb, strict=True)) / w
        f.append(t ** (1 / 3) if t > (6 / 29) ** 3 else t / (3 * (6 / 29) ** 2) + 4 / 29)
    return 116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])


def contrast(one: str, other: str) -> float:
    a, b = (0.2126 * r + 0.7152 * g + 0.0722 * b for r, g, b in (linear(one), linear(other)))
    return (max(a, b) + 0.05) / (min(a, b) + 0.05)


def test_the_measures_themselves():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert lab((1.0, 1.0, 1.0)) == pytest.approx((100.0, 0.0, 0.0), abs=0.02)
    for matrix in (PROTAN, DEUTAN):  # greys stay grey
        assert [sum(row) for row in matrix] == pytest.approx([1.0, 1.0, 1.0], abs=2e-6)


@EYES
@pytest.mark.parametrize("side", [-1, 1])
def test_each_arm_darkens_steadily_from_the_middle(eye, side):
    lightness = [lab(seen(diverging(side * share), eye))[0] for share in SHARES]
    steps = [a - b for a, b in itertools.pairwise(lightness)]
    assert all(step > 0.5 for step in steps), steps


@EYES
@pytest.mark.parametrize("side", [-1, 1])
def test_distance_from_the_middle_grows_steadily(eye, side):
    middle = lab(seen(diverging(0), eye))
    away = [math.dist(middle, lab(seen(diverging(side * share), eye))) for share in SHARES]
    assert all(b > a + 0.5 for a, b in itertools.pairwise(away)), away


@EYES
def test_low_and_high_stay_apart(eye):
    """2.3 is the usual just noticeable difference in L*a*b* (from memory)."""
    for share in SHARES[2:]:
        low, high = (lab(seen(diverging(sign * share), eye)) for sign in (-1, 1))
        assert math.dist(low, high) > 5 * 2.3 * min(1.0, share / 0.25)


def test_the_arms_are_equally_light():
    for share in SHARES:
        low, high = (lab(linear(diverging(sign * share)))[0] for sign in (-1, 1))
        assert abs(low - high) < 2.5


def test_text_reads_on_every_tone_and_on_paper():
    for step in range(-16, 17):
        assert contrast(INK, diverging(step / 16)) >= 4.5
    for ink in (INK, SOFT_INK, BLUE, ORANGE):
        assert contrast(ink, WHITE) >= 4.5


def test_the_hatch_shows_on_every_low_tone():
    """At least 1.5 to 1, in grey as in colour, since contrast is of luminance; a figure over a line stays readable."""
    for step in range(-16, 1):
        assert contrast(LOW_LINE, diverging(step / 16)) >= 1.5
    assert contrast(INK, LOW_LINE) >= 3.0


def test_tones_have_the_oklab_lightness_asked_for():
    """Through the forward OKLab matrices, as quoted in public shader code (seen there, not in the publication)."""
    to_cone = (
        (0.4122214708, 0.5363325363, 0.0514459929),
        (0.2119034982, 0.6806995451, 0.1073969566),
        (0.0883024619, 0.2817188376, 0.6299787005),
    )
    for step in range(-16, 17):
        rgb = linear(diverging(step / 16))
        long, medium, short = (sum(m * c for m, c in zip(row, rgb, strict=True)) ** (1 / 3) for row in to_cone)
        lightness = 0.2104542553 * long + 0.7936177850 * medium - 0.0040720468 * short
        assert abs(lightness - (0.975 - 0.275 * abs(step) / 16)) < 0.003  # one step of 255 in each channel


def test_no_tone_was_clipped():
    """A colour outside the screen's range would be cut to 00 or ff and break the even steps."""
    for step in range(-16, 17):
        parts = [int(diverging(step / 16)[i : i + 2], 16) for i in (1, 3, 5)]
        assert min(parts) > 0
        assert max(parts) < 255


def test_outside_the_scale_is_refused():
    for share in (1.01, -1.01, math.nan):
        with pytest.raises(OutOfRange, match="share"):
            diverging(share)
