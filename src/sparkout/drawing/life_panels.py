"""The panels of a drawn life: one quantity each, as found and as left, against the same axis."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING

from sparkout.drawing import life_marks, marks
from sparkout.drawing.axes import frame, marks_up
from sparkout.drawing.colour import BLUE, INK, ORANGE, RULE, SOFT_INK
from sparkout.drawing.picture import LINE, MARGIN, Box, Draw, Spot
from sparkout.drawing.scale import Scale, round_steps

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sparkout.drawing.life_given import Pair, Sight, Stretch
    from sparkout.drawing.manner import Manner
    from sparkout.drawing.picture import Picture
    from sparkout.drawing.svg import Point

_TALL = {"diameter": 150.0, "land": 78.0, "height": 66.0, "lip": 66.0}
_TITLES = {"diameter": "mean_diameter", "land": "land", "height": "height_of_cut", "lip": "lip_height"}
_LEAST_SPAN = 0.05
"""A panel shows at least so much, mm: otherwise the noise of one gauge would look like wear."""
_LIMIT_NEAR = 4.0
"""A limit is drawn when it lies no farther below than so many times what the readings span."""


@dataclass(frozen=True, slots=True)
class Panel:
    """One quantity's panel before it is drawn."""

    name: str
    title: str
    low: float
    high: float
    steps: tuple[float, ...]
    figures: tuple[str, ...]
    far_limits: tuple[float, ...] = ()
    """Limits too far away to draw: told in words instead."""


@dataclass(slots=True)
class Drawn:
    """The picture under way, the axis, how close visits stand, and what has been drawn that the key must tell."""

    picture: Picture
    x: Scale
    spacing: float
    swaps: tuple[float, ...] = ()
    used: set[str] = field(default_factory=set)
    limits: dict[float, None] = field(default_factory=dict)

    @property
    def crowded(self) -> bool:
        """Whether visits stand so close that marks give way to one another."""
        return self.spacing < 6.0

    @property
    def radius(self) -> float:
        """Size of a dot: smaller where visits stand close together."""
        return min(3.2, max(1.2, self.spacing * 0.4))


def panels_of(manner: Manner, stretches: Sequence[Stretch]) -> list[Panel]:
    """Return a panel for each quantity that was ever read."""
    found = []
    for name, title in _TITLES.items():
        pairs = [p for part in stretches for sight in part.sights for p in getattr(sight, name) if p is not None]
        if pairs:
            limits = [part.limit for part in stretches if part.limit is not None] if name == "diameter" else []
            found.append(_panel(manner, name, manner.say(title), pairs, sorted(set(limits))))
    return found


def _panel(manner: Manner, name: str, title: str, pairs: Sequence[Pair], limits: list[float]) -> Panel:
    low, high = min(v - h for v, h in pairs), max(v + h for v, h in pairs)
    missing = _LEAST_SPAN - (high - low)
    if missing > 0:
        low, high = low - missing / 2, high + missing / 2
    span = high - low
    near = [limit for limit in limits if low - _LIMIT_NEAR * span <= limit <= high + _LIMIT_NEAR * span]
    low, high = min([low, *near]), max([high, *near])
    margin = 0.07 * (high - low)
    low, high = low - margin, high + margin
    steps = round_steps(low, high, manner.unit, 5 if name == "diameter" else 3)
    figures = tuple(manner.length(value) for value in steps)
    return Panel(name, title, low, high, steps, figures, tuple(limit for limit in limits if limit not in near))


def draw_panel(drawn: Drawn, shown: Panel, stretches: Sequence[Stretch], top: float) -> float:
    """Draw one panel; returns the new top."""
    picture, x = drawn.picture, drawn.x
    picture.text(shown.title, Spot(MARGIN, top + 13), fill=SOFT_INK)
    top += LINE + 4
    box = Box(x.start - 8, top, x.stop + 8, top + _TALL[shown.name])
    up = Scale(shown.low, shown.high, box.bottom, box.top)
    marks_up(picture, up, shown.steps, picture.manner.length, box.left, box.right)
    for part, ends in zip(stretches, _ends(drawn, stretches), strict=True):
        if shown.name == "diameter" and part.limit is not None and shown.low <= part.limit <= shown.high:
            _limit(drawn, part.limit, ends, up)
        seen = [(x(sight.at), *_pair(sight, shown.name), sight.ground) for sight in part.sights]
        _lines(drawn, seen, up, shown.name)
    _dots(drawn, shown.name, stretches, up)
    frame(picture, box)
    return top + _TALL[shown.name] + 6


def _pair(sight: Sight, name: str) -> tuple[Pair | None, Pair | None]:
    pair: tuple[Pair | None, Pair | None] = getattr(sight, name)
    return pair


def _limit(drawn: Drawn, limit: float, ends: tuple[float, float], up: Scale) -> None:
    """Draw the limit over the stretch it holds for."""
    drawn.picture.line((ends[0], up(limit)), (ends[1], up(limit)), INK, 2.0)
    drawn.limits[limit] = None


def _ends(drawn: Drawn, stretches: Sequence[Stretch]) -> list[tuple[float, float]]:
    """Return from where to where each stretch reaches: to the swap between two, else half way."""
    x = drawn.x
    cuts = [x.start - 8]
    for before, after in pairwise(stretches):
        last, first = x(before.sights[-1].at), x(after.sights[0].at)
        cuts.append(next((swap for swap in drawn.swaps if last <= swap <= first), (last + first) / 2))
    cuts.append(x.stop + 8)
    return list(pairwise(cuts))


Seen = tuple[float, "Pair | None", "Pair | None", bool]


def _lines(drawn: Drawn, seen: list[Seen], up: Scale, name: str) -> None:
    """Draw what came off at a visit, and what changed between two; where one was not read, nothing."""
    steps: list[tuple[float, float, float]] = []
    ground: list[tuple[float, float, float]] = []
    between: list[list[Point]] = []
    for at, found, left, worked in seen:
        if found is not None and left is not None:
            (ground if worked and name != "height" else steps).append((at, up(found[0]), up(left[0])))
    for (one, found, left, _), (following, then_found, then_left, _) in pairwise(seen):
        end, start = left or found, then_found or then_left
        if end is not None and start is not None:
            between.append([(one, up(end[0])), (following, up(start[0]))])
    if name != "diameter" and drawn.crowded:
        between = []  # a saw's teeth too fine to see
    life_marks.strokes(drawn.picture, between, BLUE, 1.4, "5 3")
    life_marks.uprights(drawn.picture, steps, BLUE, 1.6)
    life_marks.uprights(drawn.picture, ground, ORANGE, min(3.0, max(1.2, drawn.spacing * 0.5)))
    for key, lines in (("between", between), ("ground", ground), ("changed", steps)):
        if lines:
            drawn.used.add(key)


def _dots(drawn: Drawn, name: str, stretches: Sequence[Stretch], up: Scale) -> None:
    picture, x = drawn.picture, drawn.x
    pairs = [(x(sight.at), i, pair) for part in stretches for sight in part.sights
             for i, pair in enumerate(_pair(sight, name)) if pair is not None]  # fmt: skip
    bars = [(at, up(v - h), up(v + h)) for at, _, (v, h) in pairs if h * up.per_unit > 1.5 * drawn.radius]
    life_marks.uprights(picture, bars, RULE if drawn.crowded else INK, 0.7 if drawn.crowded else 1.0)
    if not drawn.crowded:
        caps = [[(at - 3, y), (at + 3, y)] for at, one, other in bars for y in (one, other)]
        life_marks.strokes(picture, caps, INK, 1.0)
    for i, key in enumerate(("found", "left")):
        places = [(at, up(v)) for at, stage, (v, _) in pairs if stage == i]
        life_marks.dots(picture, places, drawn.radius, hollow=i == 0)
        if places:
            drawn.used.add(key)
    if bars:
        drawn.used.add("bars")


def panel_key(drawn: Drawn, panels: Sequence[Panel]) -> list[tuple[Draw, str]]:
    """Return the key's entries for what the panels show."""
    manner = drawn.picture.manner
    possible: dict[str, tuple[Draw, str]] = {
        "found": (life_marks.found, manner.say("as_found")),
        "left": (life_marks.left, manner.say("as_left")),
        "bars": (_bar, manner.say("interval")),
        "ground": (life_marks.ground, manner.say("ground_off")),
        "changed": (life_marks.changed, manner.say("changed")),
        "between": (marks.stroke(BLUE, 1.4, "5 3"), manner.say("in_between")),
    }
    entries = [entry for name, entry in possible.items() if name in drawn.used]
    stroke = marks.stroke(INK, 2.0)
    entries += [(stroke, manner.say("service_limit", value=manner.length(limit))) for limit in drawn.limits]
    for shown in panels:
        for limit in shown.far_limits:
            distance = manner.length(abs(shown.low - limit))
            text = manner.say("service_limit_below", value=manner.length(limit), distance=distance)
            entries.append((marks.nothing, text))
    return entries


def _bar(picture: Picture, at: tuple[float, float]) -> None:
    marks.error_bar(picture, (at[0], at[1] - 6), (at[0], at[1] + 6), 3.0, 1.0)
