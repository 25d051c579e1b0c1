"""Why a gauge shows what it shows: small pictures that stand beside the number, with the visit's own figures on them.

Texts come finished from the caller (`GaugeTexts`), in the reader's words and units; here is only the geometry.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple, Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing import marks
from sparkout.drawing.colour import BLUE, INK, ORANGE, PALE, SOFT_INK, STEEL
from sparkout.drawing.given import one, rising, row, same_length
from sparkout.drawing.manner import Manner, Manners, manner_of
from sparkout.drawing.picture import MARGIN, SMALL, Box, Draw, Picture, Spot, legend
from sparkout.drawing.svg import Point
from sparkout.drawing.text import text_width

_TALL = 190.0
"""Height of a scene, px."""


class GaugeTexts(NamedTuple):
    """What is said: the title; what the gauge shows; what that means; and why they differ."""

    title: str
    shows: str
    means: str
    why: str


def across_the_reel(
    kind: str, diameter: float, blade_count: int, land: float, texts: GaugeTexts, **manners: Unpack[Manners]
) -> str:
    """Return a tape, flat jaws or a caliper from tip to tip on the reel seen from its end, to scale, SVG text.

    Parameters
    ----------
    kind
        "tape", "jaws" or "chord".
    diameter, land
        Over the edges, and the land along the arc, mm.

    Raises
    ------
    OutOfRange
        For another kind, fewer than 2 or more than 40 blades, or lands that overlap.

    Examples
    --------
    >>> across_the_reel("tape", 127.0, 11, 1.0, GaugeTexts("Tape", "125.4 mm", "127 mm", "")).startswith("<svg")
    True
    """
    if kind not in _ACROSS:
        raise OutOfRange("kind", kind, ", ".join(_ACROSS))
    radius = one("diameter", diameter, 1.0, 1e4) / 2.0
    count = int(one("blade_count", blade_count, 2, 40, ""))
    half_land = one("land", land, 0.0, 2.0 * math.pi * radius / count) / radius / 2.0
    picture, top = _begun(manner_of(f"why-{kind}", manners), texts)
    reach = _TALL / 2.0 - 8.0
    reel = _End((picture.width / 2.0, top + _TALL / 2.0), reach, count, half_land)
    reel.draw(picture)
    _ACROSS[kind](picture, reel)
    return _ended(picture, top + _TALL, texts, marks.stroke(ORANGE, 2.4), marks.stroke(BLUE, 1.4))


class _End(NamedTuple):
    """The reel seen from its end; blade 0 points up."""

    centre: Point
    radius: float
    blades: int
    half_land: float

    def at(self, turn: float, radius: float | None = None) -> Point:
        """A point at an angle clockwise from the top."""
        r = self.radius if radius is None else radius
        return self.centre[0] + r * math.sin(turn), self.centre[1] - r * math.cos(turn)

    def middle(self, blade: int) -> float:
        """The middle of a blade's land."""
        return 2.0 * math.pi * blade / self.blades

    def draw(self, picture: Picture) -> None:
        """Blades, shaft and the circle of the edges."""
        picture.circle(self.centre, self.radius, "none", BLUE, 1.4)
        for blade in range(self.blades):
            turn = self.middle(blade)
            picture.line(self.at(turn, 0.22 * self.radius), self.at(turn), SOFT_INK, 1.6)
            wide = max(self.half_land, 0.012)
            picture.trace([self.at(turn - wide), self.at(turn + wide)], INK, 3.0)
        picture.circle(self.centre, 0.12 * self.radius, PALE, INK, 1.0)


def _tape(picture: Picture, reel: _End) -> None:
    """A tape lies on every land and spans straight from blade to blade."""
    turns = [reel.middle(b) + side for b in range(reel.blades) for side in (-reel.half_land, reel.half_land)]
    points = [reel.at(turn) for turn in turns]
    picture.trace([*points, points[0]], ORANGE, 2.4)


def _jaws(picture: Picture, reel: _End) -> None:
    """One jaw on the blade at the top; the other on the blade opposite, or across two when the count is odd."""
    x, y = reel.centre
    half = math.pi / reel.blades if reel.blades % 2 else 0.0
    foot = y + reel.radius * (math.cos(max(half - reel.half_land, 0.0)) if half else 1.0)
    for level in (y - reel.radius, foot):
        picture.line((x - 0.75 * reel.radius, level), (x + 0.75 * reel.radius, level), ORANGE, 2.4)
    right = x + reel.radius + 14.0
    marks.dimension(picture, (right, y - reel.radius), (right, foot))


def _chord(picture: Picture, reel: _End) -> None:
    """From the tip at the top to the blade nearest opposite."""
    other = reel.blades // 2
    turn = reel.middle(other) + (reel.half_land if reel.blades % 2 else 0.0)
    start, end = reel.at(-reel.half_land if reel.blades % 2 else 0.0), reel.at(turn)
    picture.line(start, end, ORANGE, 2.4)
    for point in (start, end):
        picture.circle(point, 3.4, ORANGE, INK)


_ACROSS = {"tape": _tape, "jaws": _jaws, "chord": _chord}


def gaps_below_a_line(
    stations: Sequence[float],
    gaps: Sequence[float],
    long: float,
    texts: GaugeTexts,
    *,
    here: int = 0,
    **manners: Unpack[Manners],
) -> str:
    """Return gaps under a straight line (a knife laid on, a straight edge) along the length, heights drawn large.

    Parameters
    ----------
    stations, gaps
        Where they were read and how wide they are, mm; joined by straight lines.
    long
        Length of the blades, mm.
    here
        Which of them the figures are about.

    Raises
    ------
    OutOfRange
        For a station off the length, or as many gaps as stations are not given.

    Examples
    --------
    >>> gaps_below_a_line([0, 500], [0.1, 0.3], 500, GaugeTexts("Gap", "0.3 mm", "0.3 mm", "")).startswith("<svg")
    True
    """
    whole = one("long", long, 1.0, 1e5)
    places = rising("stations", stations, least=1)
    wide = row("gaps", gaps, -1e3, 1e3)
    same_length("gaps", len(wide), len(places))
    chosen = int(one("here", here, 0, len(places) - 1, ""))
    picture, top = _begun(manner_of("why-gaps", manners), texts)
    left, right = MARGIN + 26.0, picture.right - 26.0
    line, foot = top + 46.0, top + _TALL - 20.0
    scale = 80.0 / max([abs(gap) for gap in wide] + [1e-6])

    def at(x: float, gap: float) -> Point:
        return left + (right - left) * min(max(x / whole, 0.0), 1.0), line + 12.0 + scale * max(gap, -0.1 / scale)

    surface = [at(0.0, wide[0]), *(at(x, gap) for x, gap in zip(places, wide, strict=True)), at(whole, wide[-1])]
    picture.shape([*surface, (right, foot), (left, foot)], STEEL)
    picture.trace(surface, INK, 1.8)
    picture.rect(Box(left - 12, line - 16, right + 12, line + 12), PALE, INK)
    for i, (x, gap) in enumerate(zip(places, wide, strict=True)):
        x_drawn, y = at(x, gap)
        if i == chosen:
            picture.rect(Box(x_drawn - 7, line + 12, x_drawn + 7, y), ORANGE, INK)
        _label(picture, picture.manner.length(gap), x_drawn, line - 24)
    return _ended(picture, foot + 4, texts, marks.patch(ORANGE, edge=INK), marks.stroke(INK, 1.8))


def two_leaves(goes: float, stops: float, texts: GaugeTexts, **manners: Unpack[Manners]) -> str:
    """Return the leaf that goes and the leaf that does not between two faces, thicknesses to one scale, SVG text.

    Parameters
    ----------
    goes, stops
        Thickness of the leaves, mm; 0 for a leaf that was not named.

    Raises
    ------
    OutOfRange
        For negative leaves, or when the one that stops is not the thicker.

    Examples
    --------
    >>> two_leaves(0.02, 0.03, GaugeTexts("Leaves", "", "0.025 mm", "")).startswith("<svg")
    True
    """
    thin = one("goes", goes, 0.0, 50.0)
    thick = one("stops", stops, thin, 50.0, above=True)
    picture, top = _begun(manner_of("why-leaves", manners), texts)
    left, right, per_mm = MARGIN + 20.0, picture.right - 20.0, 70.0 / thick
    middle = (left + right) / 2.0
    upper = top + 40.0
    lower = upper + per_mm * (thin + thick) / 2.0
    for box in (Box(left, upper - 26, right, upper), Box(left, lower, right, lower + 26)):
        picture.rect(box, STEEL, INK)
    if thin > 0.0:
        picture.rect(Box(left - 16, lower - per_mm * thin, middle - 24, lower), BLUE, INK)
        _label(picture, picture.manner.length(thin), left + 50, lower + 44)
    picture.rect(Box(right + 2, lower - per_mm * thick, right + 26, lower), ORANGE, INK)
    _label(picture, picture.manner.length(thick), right - 30, upper - 30)
    marks.dimension(picture, (middle + 30, upper), (middle + 30, lower))
    return _ended(picture, lower + 52, texts, marks.patch(BLUE, edge=INK), marks.patch(ORANGE, edge=INK))


def dial_over(
    names: Sequence[str], heights: Sequence[float], texts: GaugeTexts, *, here: int = 0, **manners: Unpack[Manners]
) -> str:
    """Return a dial's readings round the reel (or shaft) as heights above and below its own zero, SVG text.

    Parameters
    ----------
    names, heights
        What each reading is called and what the dial showed, mm.
    here
        The one the dial stands over.

    Raises
    ------
    OutOfRange
        For no reading, more than 40, or as many names as heights are not given.

    Examples
    --------
    >>> dial_over(["1", "2"], [0.0, 0.02], GaugeTexts("Dial", "0.02 mm", "", "")).startswith("<svg")
    True
    """
    shown = row("heights", heights, -1e3, 1e3)
    same_length("names", len(names), len(shown))
    if len(shown) > 40:
        raise OutOfRange("number of heights", len(shown), "1 to 40")
    chosen = int(one("here", here, 0, len(shown) - 1, ""))
    picture, top = _begun(manner_of("why-dial", manners), texts)
    left, right = MARGIN + 8.0, picture.right - 8.0
    zero, step = top + 116.0, (right - left) / len(shown)
    scale = 38.0 / max([abs(height) for height in shown] + [1e-6])
    foot = zero + 64.0
    every = max(1, math.ceil(max(text_width(name, SMALL) + 4.0 for name in names) / step))
    for i, (name, height) in enumerate(zip(names, shown, strict=True)):
        x, y = left + step * (i + 0.5), zero - scale * height
        picture.rect(Box(x - 0.3 * step, min(y, foot), x + 0.3 * step, foot), STEEL, INK)
        if i % every == 0:
            picture.text(name, Spot(x, foot + 15, "middle"))
    picture.line((left, zero), (right, zero), SOFT_INK, 1.0, "4 3")
    x, y = left + step * (chosen + 0.5), zero - scale * shown[chosen]
    picture.line((x, y), (x, top + 44), ORANGE, 2.6)
    picture.circle((x, top + 26), 20.0, PALE, INK)
    turn = math.pi * max(-0.8, min(0.8, shown[chosen] * scale / 60.0))
    picture.line((x, top + 26), (x + 15 * math.sin(turn), top + 26 - 15 * math.cos(turn)), ORANGE, 2.0)
    return _ended(picture, foot + 20, texts, marks.stroke(ORANGE, 2.6), marks.stroke(SOFT_INK, 1.0, "4 3"))


def depth_below(depth: float, texts: GaugeTexts, **manners: Unpack[Manners]) -> str:
    """Return a gauge that stands on one face and reaches down to another, SVG text.

    Raises
    ------
    OutOfRange
        For a depth that is not finite or is negative.

    Examples
    --------
    >>> depth_below(4.2, GaugeTexts("Depth", "4.2 mm", "4.2 mm", "")).startswith("<svg")
    True
    """
    one("depth", depth, 0.0, 1e5)
    picture, top = _begun(manner_of("why-depth", manners), texts)
    middle = picture.width / 2.0
    face, floor = top + 56.0, top + 136.0
    picture.shape(
        [(middle - 130, face), (middle - 46, face), (middle - 46, floor), (middle + 46, floor), (middle + 46, face),
         (middle + 130, face), (middle + 130, floor + 30), (middle - 130, floor + 30)], STEEL, INK,
    )  # fmt: skip
    picture.rect(Box(middle - 80, face - 20, middle + 80, face), PALE, INK)
    picture.line((middle, face - 34), (middle, floor), ORANGE, 4.0)
    marks.dimension(picture, (middle + 28, face), (middle + 28, floor))
    return _ended(picture, floor + 34, texts, marks.stroke(ORANGE, 4.0), marks.stroke(INK, 1.2))


def angle_of(turn: float, texts: GaugeTexts, **manners: Unpack[Manners]) -> str:
    """Return an angle between two faces, as it is, SVG text.

    Raises
    ------
    OutOfRange
        For an angle outside -80 to 80 degrees.

    Examples
    --------
    >>> angle_of(0.1, GaugeTexts("Angle", "6°", "6°", "")).startswith("<svg")
    True
    """
    lean = one("turn", turn, -math.radians(80.0), math.radians(80.0), "rad")
    picture, top = _begun(manner_of("why-angle", manners), texts)
    corner = (MARGIN + 40.0, top + (130.0 if lean > 0.0 else 20.0))
    reach = min(picture.right - corner[0] - 40.0, 110.0 / max(abs(math.sin(lean)), 1e-3))
    end = (corner[0] + reach * math.cos(lean), corner[1] - reach * math.sin(lean))
    picture.line(corner, (corner[0] + reach, corner[1]), BLUE, 1.6, "5 3")
    picture.line(corner, end, ORANGE, 2.4)
    picture.trace(marks.arc(corner, 0.45 * reach, 0.0, -lean), INK, 1.0)
    return _ended(picture, top + _TALL - 30, texts, marks.stroke(ORANGE, 2.4), marks.stroke(BLUE, 1.6, "5 3"))


def width_of_a_strip(wide: float, texts: GaugeTexts, **manners: Unpack[Manners]) -> str:
    """Return the strip behind an edge whose width is read, with the relieved part falling away, SVG text.

    Raises
    ------
    OutOfRange
        For a width that is negative or not finite.

    Examples
    --------
    >>> width_of_a_strip(1.2, GaugeTexts("Land", "1.2 mm", "1.2 mm", "")).startswith("<svg")
    True
    """
    one("wide", wide, 0.0, 1e3)
    picture, top = _begun(manner_of("why-strip", manners), texts)
    left, face = MARGIN + 60.0, top + 62.0
    back, foot = left + 110.0, top + 150.0
    picture.shape([(left, face), (back, face), (back + 90, face + 60), (back + 90, foot), (left, foot)], STEEL, INK)
    picture.line((left, face), (back, face), ORANGE, 3.0)
    marks.dimension(picture, (left, face - 18), (back, face - 18))
    for x in (left, back):
        picture.line((x, face - 24), (x, face - 4), SOFT_INK, 0.7)
    return _ended(picture, foot + 6, texts, marks.stroke(ORANGE, 3.0), marks.patch(STEEL, edge=INK))


def _begun(manner: Manner, texts: GaugeTexts) -> tuple[Picture, float]:
    picture = Picture(manner, texts.title, [text for text in texts[1:] if text])
    return picture, picture.heading() + 2.0


def _ended(picture: Picture, top: float, texts: GaugeTexts, shows: Draw, means: Draw) -> str:
    """Write the key: the gauge's mark with what it shows, the other with what that means, and why."""
    key: list[tuple[Draw, str]] = [(shows, texts.shows), (means, texts.means)]
    top = legend(picture, top + 4.0, [(mark, text) for mark, text in key if text])
    if texts.why:
        top = picture.paragraph(texts.why, MARGIN, top + 2.0, picture.right, fill=SOFT_INK)
    return picture.svg(top)


def _label(picture: Picture, text: str, x: float, y: float) -> None:
    """Write a figure at the middle, or moved inwards as far as it must; left out where there is no room."""
    half = text_width(text, SMALL) / 2.0
    inside = min(max(x, 4.0 + half), picture.width - 4.0 - half)
    picture.label(text, [Spot(inside, y, "middle"), Spot(inside, y - 15, "middle")])
